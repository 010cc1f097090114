// SPDX-License-Identifier: Apache-2.0
// What a node may be set to, what it does to any frequency, and the spectrum of a segment, through
// the API. Figures are held against hand computation.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "tests/support/web_fixture.hpp"
#include "web/server/api/settings_query.hpp"
#include "web/server/documents/render.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

// Every carrier of the first segment arrives 50 dB below its e.r.p. at left.
plan::RackPlan figured_rack() {
  auto rack = rack_with_figures(20);
  for (auto& carrier : rack.segments[0].carriers)
    carrier.isolations = {{{"left"}, rf::Decibel::of(50)}};
  return rack;
}

// Two strong carriers 5 MHz apart, −10 dBm each at left's antenna, and one that must be heard 5 MHz
// above: twice the upper less the lower. Third-order two-signal product: 2·P1 + P2 − 2·IIP3
// (rf/intermodulation.hpp).
plan::RackPlan rack_with_a_hit() {
  auto rack = figured_rack();
  auto& segment = rack.segments[0];
  segment.carriers = {microphone("low", 505, "vocals"), microphone("high", 510, "vocals"),
                      microphone("hit", 515, "vocals")};
  for (auto& carrier : segment.carriers)
    carrier.isolations = {{{"left"}, rf::Decibel::of(carrier.name.text == "hit" ? 90 : 20)}};
  // So narrow that all of their product lies in the channel.
  for (auto& carrier : segment.carriers)
    if (carrier.name.text != "hit") carrier.bandwidth = rf::Frequency::kilohertz(1);
  return rack;
}

// Straight lines between the points.
double gain_at(const Json& response, double megahertz) {
  const auto& at = response.at("frequency_mhz");
  const auto& gains = response.at("gain_db");
  REQUIRE(at.size() == gains.size());
  REQUIRE(at.size() <= 800);
  for (std::size_t i = 1; i < at.size(); ++i) {
    const auto low = at[i - 1].get<double>();
    const auto high = at[i].get<double>();
    CHECK(low < high);
    if (low <= megahertz && megahertz <= high)
      return std::lerp(gains[i - 1].get<double>(), gains[i].get<double>(),
                       (megahertz - low) / (high - low));
  }
  FAIL("not within the response");
  return 0;
}

const Json& named(const Json& list, const char* key, const std::string& name) {
  const auto found =
      std::ranges::find_if(list, [&](const Json& one) { return one.at(key) == name; });
  REQUIRE(found != list.end());
  return *found;
}

}  // namespace

TEST_CASE("a node says which branches its chain ends at, and which gains its limits allow") {
  WebBench bench;
  const auto left = bench.call("GET", "/nodes/left").body;
  CHECK(left.at("serves") == Json::parse(R"([{"receiver":"vocals","branch":1}])"));
  CHECK(left.at("gain_limits_db") == Json::parse("[-12.0,20.0]"));
  CHECK(bench.call("GET", "/nodes/right").body.at("serves")[0].at("branch") == 2);
  CHECK(bench.call("GET", "/nodes/spare").body.at("serves").empty());

  auto rack = small_rack();
  rack.gain_limits.reset();
  WebBench free{rack};
  CHECK_FALSE(free.call("GET", "/nodes/left").body.contains("gain_limits_db"));
}

TEST_CASE("a node says which carriers it has to bring, and what its window makes of them") {
  WebBench bench;
  const auto carriers = [&](const char* node) {
    return bench.call("GET", std::string{"/nodes/"} + node).body.at("carriers");
  };
  // From 498 to 538 MHz, and half a MHz of skirt: both voices, and not the ears at 570.
  CHECK(carriers("left") ==
        Json::parse(R"({"own":["voice-1","voice-2"],"outside":[],"let_in":[],"harmed":[]})"));
  CHECK(carriers("spare").at("own").empty());
  // Carriers are 200 kHz wide. The lower voice begins at 509.9, where the window surely passes from
  // 19.5 MHz below its centre; the ears begin at 569.9, where it may let in up to 20.5 MHz above.
  bench.gate.turn(1, slide_at(0, 529.4));
  CHECK(carriers("left").at("outside").empty());
  bench.gate.turn(1, slide_at(0, 529.425));
  CHECK(carriers("left").at("outside") == Json{"voice-1"});
  bench.gate.turn(1, slide_at(0, 549.4));
  CHECK(carriers("left").at("let_in").empty());
  bench.gate.turn(1, slide_at(0, 549.425));
  CHECK(carriers("left").at("let_in") == Json{"ears-1"});
  CHECK(carriers("left").at("outside") == Json{"voice-1", "voice-2"});
  // Without supply it is a plain antenna.
  auto dark = reading_of(slide_at(0, 560));
  dark.telemetry.powered = false;
  bench.gate.on(rack::NodeReported{uid(1), dark});
  CHECK(
      carriers("left") ==
      Json::parse(R"({"own":["voice-1","voice-2"],"outside":[],"let_in":["ears-1"],"harmed":[]})"));
}

TEST_CASE("a node says on which of its carriers products land too strongly, by its verdict") {
  WebBench bench;
  auto node = *bench.gate.snapshot()->find({"left"});
  const auto found = [](rack::Rule rule, rack::Severity severity,
                        const std::vector<std::string>& concerns) {
    return rack::Finding{rule, severity, {"left"}, concerns, {}, {}};
  };
  using enum rack::Severity;
  node.standing = {{found(rack::Rule::intermodulation_on_carrier, caution, {"voice-1", "maker"}),
                    found(rack::Rule::near_compression, caution, {"voice-1"}),
                    found(rack::Rule::intermodulation_on_carrier, note, {"voice-2"}),
                    found(rack::Rule::link_margin, caution, {"voice-2"})}};
  CHECK(
      Json::parse(web::json_text(web::render(node, bench.gate.now))).at("carriers").at("harmed") ==
      Json{"voice-1"});
}

TEST_CASE("another segment has other carriers, also at a node that no finding is about") {
  WebBench bench;
  auto& gate = bench.gate;
  const auto before = gate.snapshot()->find({"spare"});
  REQUIRE(bench.call("POST", "/rack/segment", R"({"segment":"finale"})").status == 200);
  CHECK(bench.call("GET", "/nodes/left").body.at("carriers").at("own") == Json{"voice-3"});
  CHECK(bench.call("GET", "/nodes/left").body.at("carriers").at("outside") == Json{"voice-3"});
  // It serves nobody in either segment, and so is the same, and is not told anew.
  CHECK(gate.snapshot()->find({"spare"}) == before);
}

TEST_CASE("what was not read says what it has to bring, and nothing of what it makes of it") {
  WebBench bench;
  auto& gate = bench.gate;
  REQUIRE(gate.snapshot()->find({"left"})->outside);
  auto never_read = *gate.snapshot()->find({"left"});
  never_read.outside.reset();
  never_read.let_in.reset();
  CHECK(Json::parse(web::json_text(web::render(never_read, gate.now))).at("carriers") ==
        Json::parse(R"({"own":["voice-1","voice-2"],"harmed":[]})"));
}

TEST_CASE("a response and the spectrum say which carriers are passed, by which settings") {
  WebBench bench;
  const auto all = Json::parse(
      R"({"own":["voice-1","voice-2"],"passed":["voice-1","voice-2"],"outside":[],"let_in":[]})");
  CHECK(named(bench.call("GET", "/spectrum").body.at("nodes"), "node", "left").at("carriers") ==
        all);
  const auto at = [&](const char* query) {
    return bench.call("GET", std::string{"/nodes/left/response"} + query).body.at("carriers");
  };
  CHECK(at("") == all);
  CHECK(at("?centre_mhz=560") ==
        Json::parse(
            R"({"own":["voice-1","voice-2"],"passed":["ears-1"],"outside":["voice-1","voice-2"],
                "let_in":["ears-1"]})"));
  CHECK(at("?power=false").at("passed") == Json{"voice-1", "voice-2", "ears-1"});
  // Of another segment, where that is asked about.
  const auto finale = bench.call("POST", "/nodes/left/what-if",
                                 R"({"segment":"finale","response":true,
                                     "settings":{"centre_mhz":620}})");
  REQUIRE(finale.status == 200);
  CHECK(finale.body.at("response").at("carriers").at("passed") == Json{"voice-3"});
  CHECK(finale.body.at("carriers") == Json{"voice-3"});
}

TEST_CASE("how each carrier comes through a node is told with the response, and by the spectrum") {
  WebBench bench{figured_rack()};
  const auto asked = bench.call("GET", "/nodes/left/response?gain_db=6").body;
  const auto& through = asked.at("through");
  CHECK(through.size() == 3);
  CHECK(through.at("voice-1").at("gain_db") == doctest::Approx(gain_at(asked, 510)).epsilon(0.01));
  // A filter without figures: Butterworth of three resonators, 1 dB down at 498 and 538 MHz
  // (rf/filter.hpp has the formula). The curve's straight lines come near it, and no nearer.
  const double omega = (570.0 - 498.0 * 538.0 / 570.0) / 40.0;
  const double loss = 10.0 * std::log10(1.0 + (std::pow(10.0, 0.1) - 1.0) * std::pow(omega, 6.0));
  const auto& ears = through.at("ears-1");
  CHECK(ears.at("gain_db").get<double>() == doctest::Approx(6.0 - loss).epsilon(0.0001));
  CHECK(ears.at("down_db").get<double>() == doctest::Approx(loss).epsilon(0.0001));
  CHECK(std::abs(gain_at(asked, 570) - (6.0 - loss)) < 0.1);

  const auto spectrum = bench.call("GET", "/spectrum").body;
  for (const auto& node : spectrum.at("nodes"))
    CHECK(node.at("through") ==
          bench.call("GET", "/nodes/" + node.at("node").get<std::string>() + "/response")
              .body.at("through"));

  const auto off = bench.call("GET", "/nodes/left/response?power=false").body.at("through");
  for (const auto& name : {"voice-1", "voice-2", "ears-1"})
    CHECK(off.at(name) == Json::parse(R"({"gain_db":-1.0,"down_db":0.0})"));
}

TEST_CASE("what a node may be set to is told with every bound") {
  WebBench bench;
  CHECK(bench.call("GET", "/nodes/left/allowed").body == Json::parse(R"({
    "gain_db": {"lowest": -12.0, "highest": 20.0, "step": 1.0},
    "filters": [
      {"name": "slide", "width_mhz": 40.0,
       "centre_mhz": {"lowest": 430.0, "highest": 740.0, "step": 0.025}},
      {"name": "wide", "width_mhz": 130.0, "passband_mhz": [470.0, 600.0]}],
    "label_longest": 16,
    "power": [true, false]})"));
  CHECK(bench.call("GET", "/nodes/attic/allowed").status == 404);
  CHECK(bench.call("GET", "/nodes/left/allowed?segment=finale").status == 422);

  auto rack = small_rack();
  rack.gain_limits = plan::GainLimits{rf::Gain::decibels(0.25), rf::Gain::decibels(0.75)};
  WebBench none{rack};
  CHECK_FALSE(none.call("GET", "/nodes/left/allowed").body.contains("gain_db"));
}

TEST_CASE("the response is that of the wanted settings, or of those in the query") {
  WebBench bench{figured_rack()};
  bench.gate.turn(1, slide_at(9, 600));  // seen, but not wanted
  const auto wanted = bench.call("GET", "/nodes/left/response").body;
  CHECK(wanted.at("node") == "left");
  CHECK(wanted.at("settings").at("centre_mhz") == 518.0);
  CHECK(wanted.at("passband_mhz") == Json::parse("[498.0,538.0]"));
  CHECK(wanted.at("skirt_mhz") == 0.5);
  // A filter without figures: no loss in the middle, 1 dB at its edges.
  CHECK(gain_at(wanted, 518) == doctest::Approx(0).epsilon(0.001));
  CHECK(gain_at(wanted, 498) == doctest::Approx(-1).epsilon(0.001));
  CHECK(gain_at(wanted, 600) < -20);

  const auto asked = bench.call("GET", "/nodes/left/response?gain_db=6&centre_mhz=560.025").body;
  CHECK(asked.at("settings").at("gain_db") == 6.0);
  CHECK(gain_at(asked, 560.025) == doctest::Approx(6).epsilon(0.001));
  CHECK(gain_at(asked, 580.025) == doctest::Approx(5).epsilon(0.001));

  const auto fixed = bench.call("GET", "/nodes/left/response?filter=wide").body;
  CHECK(fixed.at("passband_mhz") == Json::parse("[470.0,600.0]"));
  CHECK(fixed.at("skirt_mhz") == 1.0);
  CHECK_FALSE(fixed.at("settings").contains("centre_mhz"));

  const auto off = bench.call("GET", "/nodes/left/response?power=false").body;
  CHECK_FALSE(off.contains("passband_mhz"));
  CHECK_FALSE(off.contains("skirt_mhz"));
  CHECK(gain_at(off, 518) == doctest::Approx(-1));
  CHECK(gain_at(off, 600) == doctest::Approx(-1));
}

TEST_CASE("a response that cannot be asked for is told parameter by parameter") {
  WebBench bench;
  struct Row {
    std::string query, pointer, value, sentence;
  };
  const std::string gains = "a number of dB from -12 to 27 in steps of 1";
  const std::string centres = "a number of MHz: with slide from 430 to 740 in steps of 0.025";
  for (const auto& row : std::vector<Row>{
           {"gain_db=loud", "query/gain_db", "loud",
            "gain_db is \"loud\"; allowed is " + gains + "."},
           {"gain_db=", "query/gain_db", "", "gain_db is \"\"; allowed is " + gains + "."},
           {"gain_db=nan", "query/gain_db", "nan", "gain_db is \"nan\"; allowed is " + gains + "."},
           {"gain_db=1e999", "query/gain_db", "1e999",
            "gain_db is \"1e999\"; allowed is " + gains + "."},
           {"gain_db=28", "query/gain_db", "28",
            "A slider cannot do +28 dB; it goes from -12 dB to +27 dB."},
           {"gain_db=2.5", "query/gain_db", "2.5",
            "+2.5 dB is between two steps of a slider; it moves in steps of +1 dB from -12 dB."},
           {"filter=narrow", "query/filter", "narrow",
            "filter is \"narrow\"; allowed is one of slide, wide."},
           {"centre_mhz=-1", "query/centre_mhz", "-1",
            "centre_mhz is \"-1\"; allowed is " + centres + "."},
           {"centre_mhz=900", "query/centre_mhz", "900",
            "The centre of slide cannot go to 900.000 MHz; it tunes from 430.000 to 740.000 MHz."},
           {"centre_mhz=518.01", "query/centre_mhz", "518.01",
            "518.010 MHz is between two steps of slide; it tunes in steps of 0.025 MHz from "
            "430.000 "
            "MHz."},
           {"power=on", "query/power", "on", "power is \"on\"; allowed is true or false."},
           {"zoom=2", "query/zoom", "2",
            "There is no query parameter \"zoom\" here; known are: gain_db, filter, centre_mhz, "
            "power."}}) {
    CAPTURE(row.query);
    const auto bad = bench.call("GET", "/nodes/left/response?" + row.query);
    CHECK(bad.status == 422);
    CHECK(bad.text("pointer") == row.pointer);
    CHECK(bad.text("value") == row.value);
    CHECK(bad.text("detail") == row.sentence);
    CHECK_FALSE(bad.text("allowed").empty());
  }
  CHECK(bench.call("GET", "/nodes/attic/response").status == 404);
  // Two at once are both told.
  CHECK(bench.call("GET", "/nodes/left/response?gain_db=x&power=y").body.at("errors").size() == 2);
}

TEST_CASE(
    "a node that was never read has no response; one in settings that are not its own, neither") {
  FakeGate gate{small_rack()};
  web::Api api{gate, [&] { return gate.now; }};
  const auto status_of = [&](const std::string& path) {
    int status = 0;
    api.handle({"GET", "/api/v1" + path, {}, {}, ""}, {"ana", web::Role::watch},
               [&](const web::HttpResponse& response) { status = response.status; });
    return status;
  };
  CHECK(status_of("/nodes/left/response") == 404);
  auto odd = slide_at(0, 518);
  odd.filter = 7;
  gate.nodes[1].in_force = odd;
  gate.meet_all();
  CHECK(status_of("/nodes/left/response") == 409);
  CHECK(status_of("/nodes/right/response") == 200);
}

TEST_CASE("what no query can set is not told as if it were about the centre") {
  const auto sheet = slider();
  rack::Finding of_label{rack::Rule::label_text, rack::Severity::refuse, {}, {}, {}, "No label."};
  rack::Finding of_centre{rack::Rule::centre_step, rack::Severity::refuse, {}, {}, {}, "No step."};
  CHECK(web::in_the_query({of_label}, {}, sheet).empty());
  const auto told = web::in_the_query({of_label, of_centre}, {}, sheet);
  REQUIRE(told.size() == 1);
  CHECK(told[0].pointer == "query/centre_mhz");
  CHECK(told[0].sentence == "No step.");
}

TEST_CASE("a what-if answers with the response when it is asked for, and only then") {
  WebBench bench{figured_rack()};
  const auto plain =
      bench.call("POST", "/nodes/left/what-if", R"({"settings":{"gain_db":6}})").body;
  CHECK_FALSE(plain.contains("response"));
  const auto with = bench.call("POST", "/nodes/left/what-if",
                               R"({"settings":{"gain_db":6,"centre_mhz":520},"response":true})");
  CHECK(with.body.at("response") ==
        bench.call("GET", "/nodes/left/response?gain_db=6&centre_mhz=520").body);
  const auto passive =
      bench.call("POST", "/nodes/left/what-if", R"({"passive":true,"response":true})").body;
  CHECK(gain_at(passive.at("response"), 518) == doctest::Approx(-1));
  // What the node cannot do has no response, and the verdict says why.
  const auto wild =
      bench.call("POST", "/nodes/left/what-if", R"({"settings":{"gain_db":99},"response":true})")
          .body;
  CHECK(wild.at("would_be") == "refused");
  CHECK_FALSE(wild.contains("response"));
  CHECK(bench.call("POST", "/nodes/left/what-if", R"({"response":1})").text("detail") ==
        "response is 1; allowed is true or false.");
}

TEST_CASE("the spectrum has lanes, carriers with their levels, and what each node makes of it") {
  WebBench bench{figured_rack()};
  const auto body = bench.call("GET", "/spectrum").body;
  CHECK(body.at("segment") == "speeches");
  CHECK(body.at("span_mhz")[0].get<double>() < 500);
  CHECK(body.at("span_mhz")[1].get<double>() > 620.1);
  CHECK(body.at("lanes") == bench.call("GET", "/segments/speeches").body.at("lanes"));
  const auto& voice = named(body.at("carriers"), "name", "voice-1");
  CHECK(voice.at("at_nodes") == Json::parse(R"({"left":-40.0})"));  // 10 dBm, 50 dB away
  CHECK(voice.at("live") == true);
  CHECK(voice.at("receivers") == Json::parse(R"(["vocals"])"));
  CHECK(named(body.at("carriers"), "name", "ears-1").at("at_nodes").at("left") == -33.0);
  REQUIRE(body.at("nodes").size() == 3);
  for (const auto& node : body.at("nodes")) {
    CHECK(node.at("passive") == false);
    CHECK(node.at("basis") == "seen");
    CHECK(node.at("passband_mhz") == Json::parse("[498.0,538.0]"));
    CHECK(node.at("skirt_mhz") == 0.5);
    CHECK(gain_at(node.at("response"), 518) == doctest::Approx(0).epsilon(0.001));
  }
}

TEST_CASE("a carrier is live in another segment only if it is on the air in this one") {
  WebBench bench{figured_rack()};
  const auto body = bench.call("GET", "/spectrum?segment=finale").body;
  CHECK(body.at("segment") == "finale");
  CHECK(named(body.at("carriers"), "name", "voice-3").at("live") == false);
  CHECK(named(body.at("carriers"), "name", "ears-1").at("live") == true);
  CHECK(bench.call("GET", "/spectrum?segment=encore").text("detail") ==
        "segment is \"encore\"; allowed is one of speeches, finale.");
  CHECK(bench.call("GET", "/spectrum?node=left").text("detail") ==
        "There is no query parameter \"node\" here; known are: segment.");
}

TEST_CASE("products are told where they land, at the antenna's terminals") {
  auto rack = rack_with_a_hit();
  rack.nodes[0].lead = {plan::FixedLoss{"jumper", rf::Decibel::of(2)}};
  WebBench bench{rack};
  const auto body = bench.call("GET", "/spectrum").body;
  const auto& product = named(body.at("products"), "lands_on", "hit");
  CHECK(product.at("node") == "left");
  CHECK(product.at("carriers") == Json::parse(R"(["high","low"])"));
  CHECK(product.at("at_mhz") == 515.0);
  // −10 dBm each at the terminals, −12 at the amplifier: −36 − 2·20 there, 2 dB more in front. The
  // filter takes less than 0.1 dB of each.
  CHECK(std::abs(product.at("level_dbm").get<double>() - (3 * -12.0 - 2 * 20.0 + 2.0)) < 0.3);

  // What is far below the noise is not told.
  for (auto& carrier : rack.segments[0].carriers)
    carrier.isolations = {{{"left"}, rf::Decibel::of(90)}};
  CHECK(WebBench{rack}.call("GET", "/spectrum").body.at("products").empty());
}

TEST_CASE("a node without supply is passive in the spectrum, and nothing there makes products") {
  WebBench bench{figured_rack()};
  auto reading = reading_of(slide_at(0, 518));
  reading.telemetry.powered = false;
  bench.gate.on(rack::NodeReported{uid(1), reading});
  const auto spectrum = bench.call("GET", "/spectrum").body;
  const auto& left = named(spectrum.at("nodes"), "node", "left");
  CHECK(left.at("passive") == true);
  CHECK_FALSE(left.contains("passband_mhz"));
  CHECK(gain_at(left.at("response"), 600) == doctest::Approx(-1));
}

TEST_CASE("what is behind a node without supply makes products, and explain has them as well") {
  // Passive: 1 dB through the node, 3 dB of feed,
  // an input intercept of 15 dBm at the receiver: 3·(−10 − 4) − 2·15, and 4 dB more in front.
  auto rack = rack_with_a_hit();
  rack.nodes[0].feed = {plan::FixedLoss{"feed", rf::Decibel::of(3)}};
  rack.receivers[0].input = plan::ReceiverInput{.noise_figure = rf::Decibel::of(8),
                                                .sensitivity = rf::PowerLevel::dbm(-95),
                                                .overload = rf::PowerLevel::dbm(0),
                                                .input_ip3 = rf::PowerLevel::dbm(15),
                                                .protection_ratio = rf::Decibel::of(12)};
  WebBench bench{rack};
  auto reading = reading_of(slide_at(0, 518));
  reading.telemetry.powered = false;
  bench.gate.on(rack::NodeReported{uid(1), reading});

  const auto spectrum = bench.call("GET", "/spectrum").body;
  const auto& product = named(spectrum.at("products"), "lands_on", "hit");
  CHECK(product.at("node") == "left");
  CHECK(product.at("carriers") == Json::parse(R"(["high","low"])"));
  const double by_hand = 3 * (-10.0 - 4.0) - 2 * 15.0 + 4.0;
  CHECK(product.at("level_dbm").get<double>() == doctest::Approx(by_hand).epsilon(0.001));

  const auto explained = bench.call("GET", "/nodes/left/explain?carrier=hit").body;
  const auto& chain = explained.at("chains").at(0);
  CHECK(chain.at("budget").at("intermodulation_dbm").get<double>() ==
        doctest::Approx(by_hand).epsilon(0.001));
  CHECK(chain.at("products").at(0).at("level_dbm") == product.at("level_dbm"));
}

TEST_CASE("a spectrum is the same under its ETag until settings or the plan change") {
  WebBench bench{figured_rack()};
  const auto first = bench.call("GET", "/spectrum");
  const auto tag = first.header("ETag");
  REQUIRE(tag.size() > 2);
  const auto again = bench.call("GET", "/spectrum", {}, {{"if-none-match", tag}});
  CHECK(again.status == 304);
  CHECK(again.header("ETag") == tag);
  // Read again, as it was: nothing in the picture changes.
  bench.gate.turn(1, slide_at(0, 518));
  CHECK(bench.call("GET", "/spectrum", {}, {{"if-none-match", tag}}).status == 304);
  bench.gate.turn(1, slide_at(3, 518));
  const auto moved = bench.call("GET", "/spectrum", {}, {{"if-none-match", tag}});
  CHECK(moved.status == 200);
  CHECK(moved.header("ETag") != tag);
  auto plan = figured_rack();
  plan.segments[0].carriers.pop_back();
  bench.gate.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
  CHECK(bench.call("GET", "/spectrum").header("ETag") != moved.header("ETag"));
  CHECK(bench.call("GET", "/spectrum?segment=finale").header("ETag") !=
        bench.call("GET", "/spectrum").header("ETag"));
}

TEST_CASE("panels that ask together wait for one computation; too many of them are told so") {
  std::vector<std::pair<std::function<web::HttpResponse()>, web::Respond>> waiting;
  bool takes = true;
  auto held = web::LongWork::at_once();
  held.soon = [&](std::function<web::HttpResponse()> work, web::Respond respond) {
    if (takes) waiting.emplace_back(std::move(work), std::move(respond));
    return takes;
  };
  WebBench bench{figured_rack(), std::move(held)};
  const auto& first = bench.begin("GET", "/spectrum");
  const auto& second = bench.begin("GET", "/spectrum");
  CHECK(waiting.size() == 1);
  CHECK(first.empty());
  CHECK(second.empty());
  auto [work, respond] = std::move(waiting.front());
  waiting.clear();
  respond(work());
  REQUIRE(first.size() == 1);
  REQUIRE(second.size() == 1);
  CHECK(second[0].body == first[0].body);
  CHECK(bench.call("GET", "/spectrum").status == 200);  // kept
  CHECK(waiting.empty());

  takes = false;
  bench.gate.turn(1, slide_at(3, 518));
  const auto refused = bench.call("GET", "/spectrum");
  CHECK(refused.status == 503);
  CHECK(refused.text("type") == "/problems/too-much-to-compute");
  takes = true;
  CHECK(bench.begin("GET", "/spectrum").empty());
  CHECK(waiting.size() == 1);
}
