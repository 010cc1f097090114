// SPDX-License-Identifier: Apache-2.0
// Looking ahead through the API: explain, recommend, the check of a segment, what-if. Figures are
// held against hand computation; that nothing is touched, against the core's own snapshot.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "tests/support/web_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

// The small rack with figures: every carrier arrives 50 dB below its e.r.p., 4 dB are lost behind
// the nodes, and the receiver's input is known. "spare" has no figures.
plan::RackPlan known_rack() {
  auto rack = rack_with_figures(38);
  for (auto* node : {&rack.nodes[0], &rack.nodes[1]})
    node->feed = plan::Chain{plan::FixedLoss{"multicore", rf::Decibel::of(4)}};
  rack.receivers[0].input =
      plan::ReceiverInput{rf::Decibel::of(8), rf::PowerLevel::dbm(-95), rf::PowerLevel::dbm(-10),
                          rf::PowerLevel::dbm(10), rf::Decibel::of(12)};
  for (auto& segment : rack.segments)
    for (auto& carrier : segment.carriers)
      carrier.isolations = {{{"left"}, rf::Decibel::of(50)}, {{"right"}, rf::Decibel::of(50)}};
  rack.segments[0].settings = {
      {{"left"}, {rf::Gain::decibels(6), "slide", rf::Frequency::megahertz(518), {}, {}}},
      {{"right"}, {rf::Gain::decibels(4), "slide", rf::Frequency::megahertz(650), {}, {}}}};
  return rack;
}

// Left at +6 dB, tuned to voice-1.
WebBench known_bench() { return WebBench{known_rack()}; }
void tune_left(WebBench& bench) { bench.gate.turn(1, slide_at(6, 510)); }

// Noise figure of a chain by Friis' formula (H. T. Friis, Noise Figures of Radio Receivers, Proc.
// IRE, 1944), gains and noise figures in dB.
double friis(const std::vector<std::pair<double, double>>& gains_and_figures) {
  double gain = 1.0;
  double factor = 1.0;
  for (const auto& [stage_gain, figure] : gains_and_figures) {
    factor += (std::pow(10, figure / 10) - 1) / gain;
    gain *= std::pow(10, stage_gain / 10);
  }
  return 10 * std::log10(factor);
}

doctest::Approx about(double value) { return doctest::Approx(value).epsilon(1e-9).scale(1e7); }

std::vector<std::string> names_of(const Json& stages) {
  std::vector<std::string> names;
  for (const auto& stage : stages) names.push_back(stage.at("name"));
  return names;
}

const std::string explain_left = "/nodes/left/explain?carrier=voice-1";

}  // namespace

TEST_CASE("the level budget is explained stage by stage, as it is computed by hand") {
  auto bench = known_bench();
  tune_left(bench);
  const auto body = bench.call("GET", explain_left).body;
  CHECK(body.at("node") == "left");
  CHECK(body.at("segment") == "speeches");
  CHECK(body.at("basis") == "seen");
  CHECK(body.at("settings").at("gain_db") == 6.0);
  REQUIRE(body.at("chains").size() == 1);
  const auto& chain = body.at("chains")[0];
  CHECK(chain.at("carrier") == "voice-1");
  CHECK(chain.at("receiver") == "vocals");
  const auto& stages = chain.at("stages");
  CHECK(names_of(stages) == std::vector<std::string>{"antenna", "filter slide", "left", "multicore",
                                                     "receiver vocals"});
  CHECK(stages[0].at("label") == "antenna");
  CHECK(stages[1].at("label") == "slide");
  CHECK(stages[2].at("label") == "left");
  CHECK(stages[4].at("label") == "vocals");
  CHECK(body.at("carriers") == Json{"voice-1", "voice-2"});
  // 10 dBm e.r.p., 50 dB away; a filter without figures loses nothing in its middle.
  CHECK(stages[0].at("strongest_dbm") == about(-40));
  CHECK(stages[2].at("strongest_dbm") == about(-34));
  CHECK(stages[3].at("strongest_dbm") == about(-38));
  CHECK(stages[3].at("gain_so_far_db") == about(2));
  CHECK(stages[2].at("output_ip3_dbm") == about(38));
  CHECK_FALSE(stages[3].contains("output_ip3_dbm"));  // a cable has none
  const auto figure = friis({{6, 3}, {-4, 4}, {0, 8}});
  CHECK(std::abs(stages[4].at("noise_figure_so_far_db").get<double>() - figure) < 0.001);
  const auto& budget = chain.at("budget");
  CHECK(budget.at("chain_gain_db") == about(2));
  CHECK(budget.at("weakest_dbm") == about(-40));
  // kT0B with T0 = 290 K, k = 1.380649e-23 J/K (exact in the SI since 2019), in mW.
  const auto floor = 10 * std::log10(1.380649e-23 * 290 * 200e3 * 1e3);
  CHECK(std::abs(budget.at("noise_dbm").get<double>() - (floor + figure)) < 0.001);
  CHECK(budget.at("margin_db").get<double>() ==
        doctest::Approx(budget.at("weakest_dbm").get<double>() -
                        budget.at("needed_dbm").get<double>())
            .epsilon(1e-4));
}

TEST_CASE("what levels rest on that nobody measured is told with them") {
  const auto assumed = [](const plan::RackPlan& rack) {
    WebBench bench{rack};
    return bench.call("GET", "/nodes/left/explain").body.at("assumed").dump();
  };
  auto rack = known_rack();
  CHECK(assumed(rack).find("Levels by distance") == std::string::npos);  // all are measured
  CHECK(assumed(rack).find("10.0 dB hold for 90.484 % of the time") != std::string::npos);
  for (auto& carrier : rack.segments[0].carriers) {
    carrier.isolations.clear();
    carrier.nearest = carrier.farthest = rf::Metres::of(30);
  }
  CHECK(assumed(rack).find("free space (ITU-R P.525)") != std::string::npos);
  rack.propagation = rf::Indoor{rf::Decibel::of(33)};
  CHECK(assumed(rack).find("ITU-R P.1238") != std::string::npos);
}

TEST_CASE("noise from outside, and who is heard beside the channel, stand in the budget") {
  auto rack = known_rack();
  const auto& carriers = rack.segments[0].carriers;
  const auto* wanted = rack.segments[0].find(plan::CarrierName{"voice-1"});
  REQUIRE(wanted != nullptr);
  const auto other = std::ranges::find_if(carriers, [&](const auto& carrier) {
    return carrier.frequency != wanted->frequency && carrier.erp;
  });
  REQUIRE(other != carriers.end());
  rack.receivers[0].input->spurious_responses = {
      {"image", other->frequency - wanted->frequency, rf::Decibel::of(60)}};
  rack.man_made_noise = rf::Decibel::of(10);
  WebBench bench{rack};
  tune_left(bench);
  const auto body = bench.call("GET", explain_left).body;
  const auto& chain = body.at("chains").at(0);
  const auto& budget = chain.at("budget");
  CHECK(budget.at("external_noise_db") == 10.0);
  CHECK(chain.at("stages").at(0).at("noise_dbm").get<double>() ==
        doctest::Approx(-173.975 + 10 * std::log10(1e3 * chain.at("bandwidth_khz").get<double>()) +
                        10)
            .epsilon(1e-5));
  REQUIRE(chain.at("spurious_responses").size() == 1);
  const auto& heard = chain.at("spurious_responses").at(0);
  CHECK(heard.at("carrier") == other->name.text);
  CHECK(heard.at("name") == "image");
  CHECK(heard.at("offset_mhz") == (other->frequency - wanted->frequency).megahertz());
  CHECK(heard.at("level_dbm") == budget.at("spurious_response_dbm"));
  CHECK(body.at("assumed").dump().find("Noise of 10.0 dB over kT0B") != std::string::npos);
}

TEST_CASE("without supply a node is explained as the passive antenna that it is") {
  auto bench = known_bench();
  auto reading = reading_of(slide_at(6, 510));
  reading.telemetry.powered = false;
  bench.gate.on(rack::NodeReported{uid(1), reading});
  const auto body = bench.call("GET", explain_left).body;
  CHECK(body.at("settings").at("power") == false);
  const auto& stages = body.at("chains")[0].at("stages");
  CHECK(names_of(stages) ==
        std::vector<std::string>{"antenna", "left, passive", "multicore", "receiver vocals"});
  CHECK(stages[2].at("gain_so_far_db") == about(-5));  // 1 dB passive, 4 dB multicore
}

TEST_CASE("what is not known is told in words, and no figure is made up for it") {
  WebBench bench;
  const auto body = bench.call("GET", "/nodes/left/explain").body;
  CHECK(body.at("unknown").size() > 1);
  for (const auto& chain : body.at("chains")) {
    CHECK_FALSE(chain.contains("receiver"));
    CHECK_FALSE(chain.at("budget").contains("margin_db"));
  }
  CHECK(bench.call("GET", "/nodes/spare/explain").body.at("chains").empty());
}

TEST_CASE("a node that was never read, or is in settings its type has not, is not explained") {
  FakeGate gate{known_rack()};
  web::Api api{gate, [&] { return gate.now; }};
  const auto get = [&](const std::string& path) {
    std::pair<int, std::string> said;
    api.handle({"GET", "/api/v1" + path, {}, {}, ""}, {"ana", web::Role::watch},
               [&](const web::HttpResponse& response) {
                 said = {response.status, Json::parse(response.body).value("detail", "")};
               });
    return said;
  };
  CHECK(get("/nodes/left/explain") ==
        std::pair{404, std::string{"Node \"left\" has never been read, so nothing is in force on "
                                   "it yet."}});
  CHECK(get("/nodes/left/recommend").first == 200);  // needs no reading
  gate.meet_all();
  gate.turn(1, slide_at(6, 800));
  CHECK(get("/nodes/left/explain") ==
        std::pair{409, std::string{"Node \"left\" is in settings that its datasheet does not have: "
                                   "The centre of slide cannot go to 800.000 MHz; it tunes from "
                                   "430.000 to 740.000 MHz."}});
}

TEST_CASE("what is recommended is accepted when it is asked for, and one step beyond is not") {
  auto bench = known_bench();
  const auto advice = bench.call("GET", "/nodes/left/recommend").body;
  CHECK(advice.at("node") == "left");
  CHECK(advice.at("segment") == "speeches");
  REQUIRE(advice.at("clean") == true);
  const auto would_be = [&](Json patch) {
    return bench.call("PATCH", "/nodes/left/settings?dry_run=true", patch.dump()).text("would_be");
  };
  auto settings = advice.at("settings");
  CHECK(would_be(settings) == "accepted");
  const auto& room = advice.at("room");
  REQUIRE(room.contains("up_stops"));
  settings["gain_db"] =
      advice.at("settings").at("gain_db").get<double>() + room.at("up_db").get<double>();
  CHECK(would_be(settings) == "accepted");
  settings["gain_db"] = settings["gain_db"].get<double>() + 1;
  CHECK(would_be(settings) != "accepted");
}

TEST_CASE("another segment than the active one can be asked about") {
  auto bench = known_bench();
  const auto finale = bench.call("GET", "/nodes/left/recommend?segment=finale").body;
  CHECK(finale.at("segment") == "finale");
  CHECK(finale.at("worst_carrier") == "voice-3");
  const auto explained = bench.call("GET", "/nodes/left/explain?segment=finale").body;
  REQUIRE(explained.at("chains").size() == 1);
  CHECK(explained.at("chains")[0].at("carrier") == "voice-3");
  CHECK(bench.call("GET", "/rack").text("segment") == "speeches");
}

TEST_CASE("a segment is recommended for every node, in the order of the rack, on any threads") {
  std::vector<std::size_t> counts;
  auto long_work = web::LongWork::at_once();
  long_work.for_each = [&](std::size_t count, const std::function<void(std::size_t)>& work) {
    counts.push_back(count);
    for (auto i = count; i > 0; --i) work(i - 1);
  };
  WebBench bench{known_rack(), long_work};
  const auto body = bench.call("GET", "/segments/finale/recommend").body;
  CHECK(body.at("segment") == "finale");
  const auto& all = body.at("recommendations");
  REQUIRE(all.size() == 3);
  CHECK(all[0].at("node") == "left");
  CHECK(all[2].at("node") == "spare");
  CHECK_FALSE(all[2].contains("worst_carrier"));    // it serves none
  CHECK(counts == std::vector<std::size_t>{3, 3});  // their settings, then advice on them
}

TEST_CASE("what somebody looks at waits for no recommendation") {
  auto work = web::LongWork::at_once();
  std::size_t waiting = 0;
  work.at_leisure = [&](const std::function<web::HttpResponse()>&, const web::Respond&) {
    ++waiting;
    return true;
  };
  WebBench bench{known_rack(), work};
  CHECK(bench.begin("GET", "/segments/finale/recommend").empty());
  CHECK(bench.begin("GET", "/nodes/left/recommend").empty());
  CHECK(waiting == 2);
  CHECK(bench.call("GET", "/segments/finale/check").status == 200);
  CHECK(bench.call("GET", "/spectrum").status == 200);
  CHECK(bench.call("GET", "/report").status == 200);
}

TEST_CASE("a segment is checked with the settings that it has for each node") {
  auto bench = known_bench();
  const auto body = bench.call("GET", "/segments/speeches/check").body;
  CHECK(body.at("segment") == "speeches");
  const auto& nodes = body.at("nodes");
  REQUIRE(nodes.size() == 3);
  CHECK(nodes[0].at("would_be") == "accepted");
  CHECK(nodes[0].at("settings").at("gain_db") == 6.0);
  CHECK(nodes[1].at("would_be") == "refused");  // planned at 650 MHz, its microphones are at 510
  CHECK(nodes[1].at("findings")[0].at("rule") == "carrier-outside-window");
  CHECK(nodes[2].at("settings").at("centre_mhz") == 518.0);  // no plan: what is wanted
}

TEST_CASE("a segment's check says what a switch to it would come to where it ends") {
  // Two carriers in one channel; and what is published of bands, of carriers that no node brings.
  auto plan = known_rack();
  for (auto& node : {"left", "right", "spare"}) plan.segments[0].settings[{node}] = to(0, 518);
  SUBCASE("a refusal of a node is one of the switch") {
    plan.segments[0].settings[{"right"}] = to(0, 650);
    WebBench bench{plan};
    CHECK(bench.call("GET", "/segments/speeches/check").body.at("would_be") == "refused");
  }
  SUBCASE("a caution of two carriers is one of the switch") {
    auto twin = plan.segments[0].carriers[0];
    twin.name = {"twin"};
    plan.segments[0].carriers.push_back(twin);
    WebBench bench{plan};
    const auto check = bench.call("GET", "/segments/speeches/check").body;
    CHECK(check.at("would_be") == "needs-waiver");
    CHECK(check.at("findings")[0].at("rule") == "co-channel");
  }
}

TEST_CASE("the budget of what a segment has for a node is explained before anybody sets it") {
  auto bench = known_bench();
  tune_left(bench);
  const auto asked = [&](const std::string& query) {
    return bench.call("GET", "/nodes/left/explain" + query);
  };
  const auto now = asked("").body;
  CHECK(now.at("basis") == "seen");
  CHECK(now == asked("?basis=in-force").body);
  const auto planned = asked("?basis=planned").body;
  CHECK(planned.at("basis") == "planned");
  CHECK(planned.at("settings") ==
        bench.call("GET", "/segments/speeches/check").body.at("nodes")[0].at("settings"));
  CHECK(planned.at("segment") == "speeches");
  const auto bad = asked("?basis=wanted");
  CHECK(bad.status == 422);
  CHECK(bad.body.at("errors")[0].at("detail") ==
        "basis is \"wanted\"; allowed is in-force or planned.");
  const auto other = asked("?basis=planned&segment=finale").body;
  CHECK(other.at("segment") == "finale");
}

TEST_CASE("a node that is passive, a carrier that is louder, a cable that is longer: what if") {
  auto bench = known_bench();
  tune_left(bench);
  const auto ask = [&](const Json& question) {
    return bench.call("POST", "/nodes/left/what-if", question.dump(), {}, web::Role::watch);
  };
  const auto level = [](const Called& called) {
    return called.body.at("chains").at(0).at("stages").back().at("strongest_dbm").get<double>();
  };
  CHECK(level(ask({{"carrier", "voice-1"}})) == about(-38));
  CHECK(level(ask({{"carrier", "voice-1"}, {"louder_db", {{"voice-1", 6}}}})) == about(-32));
  CHECK(level(ask({{"carrier", "voice-1"}, {"settings", {{"gain_db", 9}}}})) == about(-35));
  for (const auto& passive : std::vector<Json>{true, {"left", "right"}}) {
    const auto dark = ask({{"carrier", "voice-1"}, {"passive", passive}});
    CHECK(level(dark) == about(-45));  // 1 dB passive, 4 dB multicore
    CHECK(dark.body.at("settings").at("power") == false);
  }
  CHECK(ask({{"settings", {{"gain_db", 21}}}}).text("would_be") == "refused");
  CHECK(ask({{"segment", "finale"}}).text("segment") == "finale");
}

TEST_CASE("what-if counts with what a neighbour may have by now, as a change does") {
  WebBench bench;
  REQUIRE(bench.call("POST", "/rack/segment", R"({"segment":"finale"})").status == 200);
  // Right is told to go to voice-3, and nobody hears whether it has.
  auto& gate = bench.gate;
  gate.hold = true;
  const auto& waits = bench.begin("PATCH", "/nodes/right/settings", R"({"centre_mhz":620})",
                                  {{"if-match", bench.etag("right")}});
  REQUIRE(gate.sent.size() == 1);
  gate.on(rack::CommandAnswered{gate.sent.back().command, protocol::Done{}});
  for (int i = 0; i < 2; ++i)
    gate.on(rack::CommandFailed{gate.sent.back().command, protocol::Fault::timed_out});
  REQUIRE(waits.back().status == 504);
  gate.hold = false;
  REQUIRE(bench.call("POST", "/rack/segment", R"({"segment":"speeches"})").status == 200);

  const auto rules_of = [](const Called& called) {
    std::vector<std::string> rules;
    for (const auto& finding : called.body.at("findings")) rules.push_back(finding.at("rule"));
    return rules;
  };
  const auto supposed =
      bench.call("POST", "/nodes/left/what-if", R"({"settings":{"centre_mhz":620}})");
  const auto changed = bench.call("PATCH", "/nodes/left/settings?dry_run=true",
                                  R"({"centre_mhz":620})", {{"if-match", bench.etag("left")}});
  const auto rules = rules_of(changed);
  CHECK(std::ranges::find(rules, "diversity-dark") != rules.end());
  CHECK(rules_of(supposed) == rules);
}

TEST_CASE("looking ahead needs no more than to watch, and touches nothing, not even the snapshot") {
  auto bench = known_bench();
  const auto before = bench.gate.snapshot();
  const auto rows = bench.gate.journal.size();
  for (const char* path : {"/nodes/left/explain", "/nodes/left/recommend",
                           "/segments/finale/recommend", "/segments/finale/check"}) {
    CAPTURE(path);
    CHECK(bench.call("GET", path, "", {}, web::Role::watch).status == 200);
  }
  CHECK(bench.call("POST", "/nodes/left/what-if", R"({"passive":true})", {}, web::Role::watch)
            .status == 200);
  CHECK(bench.gate.snapshot() == before);
  CHECK(bench.gate.journal.size() == rows);
  CHECK(bench.gate.sent.empty());
}

TEST_CASE("where too much waits already, what takes long is told to come again") {
  const auto full = [](const auto&, const auto&) { return false; };
  WebBench bench{known_rack(), {full, full, {}}};
  for (const char* path :
       {"/nodes/left/recommend", "/segments/finale/recommend", "/segments/finale/check"}) {
    CAPTURE(path);
    const auto busy = bench.call("GET", path);
    CHECK(busy.status == 503);
    CHECK(busy.header("Retry-After") == "2");
    CHECK(busy.text("type") == "/problems/too-much-to-compute");
  }
  CHECK(bench.call("GET", "/nodes/left/explain").status == 200);  // takes no time
}

TEST_CASE("an answer that is computed elsewhere belongs to the snapshot it was asked on") {
  std::vector<std::pair<std::function<web::HttpResponse()>, web::Respond>> waiting;
  auto work = web::LongWork::at_once();
  work.at_leisure = [&](std::function<web::HttpResponse()> task, web::Respond respond) {
    waiting.emplace_back(std::move(task), std::move(respond));
    return true;
  };
  WebBench bench{known_rack(), std::move(work)};
  const auto& answers = bench.begin("GET", "/nodes/left/recommend");
  CHECK(answers.empty());
  REQUIRE(bench.call("POST", "/rack/segment", R"({"segment":"finale"})").status == 200);
  REQUIRE(waiting.size() == 1);
  waiting[0].second(waiting[0].first());
  REQUIRE(answers.size() == 1);
  CHECK(answers[0].text("segment") == "speeches");
}

TEST_CASE("bad questions are told with their place, their value and what is allowed") {
  auto bench = known_bench();
  struct Row {
    std::string method, path, body, pointer, detail;
  };
  const std::string what_if = "/nodes/left/what-if";
  for (const auto& row : std::vector<Row>{
           {"GET", "/nodes/left/explain?carrier=voice-9", "", "query/carrier",
            "carrier is \"voice-9\"; allowed is one of voice-1, voice-2."},
           {"GET", "/nodes/left/explain?carrier=ears-1", "", "query/carrier",
            "carrier is \"ears-1\"; allowed is one of voice-1, voice-2."},
           {"GET", "/nodes/spare/explain?carrier=voice-1", "", "query/carrier",
            "carrier is \"voice-1\"; allowed is none: spare has no carrier to hear in speeches."},
           {"GET", "/nodes/left/explain?segment=encore", "", "query/segment",
            "segment is \"encore\"; allowed is one of speeches, finale."},
           {"GET", "/nodes/left/explain?receiver=vocals", "", "query/receiver",
            "There is no query parameter \"receiver\" here; known are: carrier, segment, basis."},
           {"GET", "/nodes/left/recommend?carrier=voice-1", "", "query/carrier",
            "There is no query parameter \"carrier\" here; known are: segment."},
           {"GET", "/segments/finale/recommend?node=left", "", "query/node",
            "There is no query parameter \"node\" here; known are: none."},
           {"GET", "/segments/finale/check?node=left", "", "query/node",
            "There is no query parameter \"node\" here; known are: none."},
           {"POST", what_if, "[]", "", "The body is not a JSON object."},
           {"POST", what_if, R"({"gain_db":6})", "/gain_db",
            "There is no member \"gain_db\" here; known are: settings, passive, louder_db, "
            "longer_m, carrier, segment, response."},
           {"POST", what_if, R"({"settings":6})", "/settings",
            "settings is 6; allowed is an object."},
           {"POST", what_if, R"({"settings":{"gain_db":"6"}})", "/settings/gain_db",
            "gain_db is \"6\"; allowed is a number of dB from -12 to 27 in steps of 1."},
           {"POST", what_if, R"({"settings":{"zoom":6}})", "/settings/zoom",
            "There is no member \"zoom\" here; known are: gain_db, filter, centre_mhz, power, "
            "label."},
           {"POST", what_if, R"({"passive":"left"})", "/passive",
            "passive is \"left\"; allowed is true, or a list of names of nodes."},
           {"POST", what_if, R"({"passive":[1]})", "/passive",
            "passive is [1]; allowed is true, or a list of names of nodes."},
           {"POST", what_if, R"({"passive":["left","attic"]})", "/passive/1",
            "passive: \"attic\" is not there. Allowed is one of left, right, spare."},
           {"POST", what_if, R"({"louder_db":6})", "/louder_db",
            "louder_db is 6; allowed is an object whose members are each a number of dB."},
           {"POST", what_if, R"({"louder_db":{"ears-1":"6"}})", "/louder_db/ears-1",
            "louder_db of ears-1 is \"6\"; allowed is a number of dB."},
           {"POST", what_if, R"({"louder_db":{"ears-1":61}})", "/louder_db/ears-1",
            "louder_db of ears-1: 61 is out of range. Allowed is -60 to 60 dB."},
           {"POST", what_if, R"({"louder_db":{"a/b~c":6}})", "/louder_db/a~1b~0c",
            "louder_db: \"a/b~c\" is not there. Allowed is one of voice-1, voice-2, ears-1."},
           {"POST", what_if, R"({"longer_m":{"left":30}})", "/longer_m/left",
            "longer_m of left: The rack file gives no cable behind left. Allowed is a node with a "
            "cable in its feed."},
           {"POST", what_if, R"({"carrier":"ears-1"})", "/carrier",
            "carrier is \"ears-1\"; allowed is one of voice-1, voice-2."},
           {"POST", what_if, R"({"carrier":1})", "/carrier",
            "carrier is 1; allowed is text of at most 64 bytes."},
           {"POST", what_if, R"({"segment":"encore"})", "/segment",
            "segment is \"encore\"; allowed is one of speeches, finale."}}) {
    CAPTURE(row.path);
    CAPTURE(row.body);
    const auto bad = bench.call(row.method, row.path, row.body);
    CHECK(bad.status == 422);
    CHECK(bad.text("type") == "/problems/bad-value");
    CHECK(bad.text("pointer") == row.pointer);
    CHECK(bad.text("detail") == row.detail);
  }
  for (const char* path : {"/nodes/attic/explain", "/nodes/attic/recommend",
                           "/segments/encore/recommend", "/segments/encore/check"}) {
    CAPTURE(path);
    CHECK(bench.call("GET", path).status == 404);
  }
  CHECK(bench.call("POST", "/nodes/attic/what-if", "{}").status == 404);
}

TEST_CASE("all that cannot be supposed is told at once") {
  auto bench = known_bench();
  const auto bad = bench.call("POST", "/nodes/left/what-if",
                              R"({"passive":["attic"],"louder_db":{"ears-1":99,"horn":3}})");
  CHECK(bad.status == 422);
  CHECK(bad.body.at("errors").size() == 3);
}
