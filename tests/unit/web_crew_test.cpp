// SPDX-License-Identifier: Apache-2.0
// Crew sheets and previews from any segment to any, through the API. Every answer is held against
// the OpenAPI document as it passes.
#include <doctest/doctest.h>

#include "tests/support/web_fixture.hpp"
#include "web/server/feed/feed.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

plan::RackPlan crew_show() {
  auto rack = moving_rack(0);
  rack.segments[0].carriers[0].held_by = "Ada";
  auto encore = rack.segments[1];
  encore.name = {"encore"};
  for (auto& [node, patch] : encore.settings) patch.centre = rf::Frequency::megahertz(628);
  encore.carriers = {microphone("voice-3", 625, "vocals")};
  rack.segments.push_back(encore);
  rack.running_order.cues = {{{"speeches"}, {"speeches"}, plan::ByHand{}},
                             {{"finale"}, {"finale"}, plan::ByHand{}}};
  return rack;
}

const std::string sheet = "/segments/finale/crew-sheet";
const std::string open_both =
    "2 of 2 to do before it are not ticked: voice-1 off, 510.000 MHz; voice-2 off, 525.000 MHz.";
const std::string open_second = "1 of 2 to do before it is not ticked: voice-2 off, 525.000 MHz.";

std::string first_error(const Called& called) {
  const auto& error = called.body.at("errors")[0];
  return error.at("pointer").get<std::string>() + " | " + error.at("value").get<std::string>() +
         " | " + error.at("allowed").get<std::string>();
}

}  // namespace

TEST_CASE("a crew sheet says what to do, when, and whose it is") {
  WebBench bench{crew_show()};
  const auto got = bench.call("GET", sheet, "", {}, web::Role::watch);
  REQUIRE(got.status == 200);
  CHECK(got.text("from") == "speeches");
  CHECK(got.text("to") == "finale");
  CHECK(got.text("not_ticked") == open_both);
  REQUIRE(got.body.at("rows").size() == 3);
  CHECK(got.body.at("rows")[0] == Json{{"key", "voice-1.off"},
                                       {"act", "off"},
                                       {"moment", "before"},
                                       {"carrier", "voice-1"},
                                       {"use", "receive"},
                                       {"what", "voice-1 off, 510.000 MHz"},
                                       {"from_mhz", 510.0},
                                       {"receivers", {"vocals"}},
                                       {"held_by", "Ada"}});
  CHECK(got.body.at("rows")[2].at("what") == "voice-3 on, 620.000 MHz");
  CHECK(got.body.at("rows")[2].at("moment") == "after");
  CHECK(bench.call("GET", "/segments/speeches/crew-sheet?from=encore").text("from") == "encore");
  // The preview carries the same.
  CHECK(bench.call("GET", "/segments/finale/preview").body.at("crew_sheet") == got.body);
}

TEST_CASE("rows are ticked and unticked, under the show lock too, and the feed tells all") {
  WebBench bench{crew_show()};
  bench.call("POST", "/rack/lock", "{}");
  web::Feed feed{"s", bench.gate.snapshot()};
  const auto ticked =
      bench.call("POST", sheet + "/tick", R"({"rows":["voice-1.off"]})", {}, web::Role::operate);
  REQUIRE(ticked.status == 200);
  CHECK(ticked.body.at("rows")[0].at("ticked").at("who") == "ana");
  CHECK(ticked.text("not_ticked") == open_second);
  CHECK(bench.call("GET", sheet).body == ticked.body);
  const auto told = feed.advance(bench.gate.snapshot(), bench.gate.now);
  REQUIRE(told);
  const auto ticks = Json::parse(*told->whole_nodes).at("ticks");
  REQUIRE(ticks.size() == 1);
  CHECK(ticks[0].at("row") == "voice-1.off");
  CHECK(ticks[0].at("from") == "speeches");
  CHECK(ticks[0].at("to") == "finale");
  CHECK(ticks[0].at("who") == "ana");
  CHECK(Json::parse(*feed.snapshot(bench.gate.now)).at("ticks") == ticks);

  const auto all = bench.call("POST", sheet + "/tick",
                              R"({"from":"speeches","rows":["voice-2.off","voice-1.off"]})");
  CHECK(all.status == 200);
  CHECK_FALSE(all.body.contains("not_ticked"));
  CHECK(bench.call("POST", sheet + "/untick", R"({"rows":["voice-2.off"]})").text("not_ticked") ==
        open_second);
  CHECK(bench.gate.sent.empty());
}

TEST_CASE("whoever may only watch reads a sheet, and ticks nothing") {
  WebBench bench{crew_show()};
  for (const auto* how : {"/tick", "/untick"}) {
    const auto refused =
        bench.call("POST", sheet + how, R"({"rows":["voice-1.off"]})", {}, web::Role::watch);
    CHECK(refused.status == 403);
    CHECK(refused.text("detail") == "This needs the role operate; ana has watch.");
  }
  CHECK(bench.gate.snapshot()->ticks->empty());
}

TEST_CASE("bad rows and segments are named with what is allowed, and nothing is ticked") {
  WebBench bench{crew_show()};
  const auto bad = [&](const std::string& body) {
    return bench.call("POST", sheet + "/tick", body);
  };
  const auto rows = bad(R"({"rows":["voice-1.off","voice-9.off"]})");
  CHECK(rows.status == 422);
  CHECK(first_error(rows) ==
        "/rows/1 | voice-9.off | keys of rows of the crew sheet of speeches → finale");
  CHECK(first_error(bad(R"({"rows":[]})")) ==
        "/rows | [] | keys of rows of the crew sheet of speeches → finale");
  CHECK(bad("{}").status == 422);
  CHECK(bad(R"({"rows":"voice-1.off"})").status == 422);
  CHECK(bad(R"({"rows":["voice-1.off"],"who":"Bo"})").status == 422);
  CHECK(first_error(bad(R"({"rows":["voice-1.off"],"from":"opera"})")) ==
        "/from | opera | speeches and encore");
  CHECK(first_error(bad(R"({"rows":["voice-1.off"],"from":"finale"})")) ==
        "/from | finale | speeches and encore");
  CHECK(bench.call("POST", "/segments/opera/crew-sheet/tick", R"({"rows":["x"]})").status == 404);
  CHECK(bench.call("GET", "/segments/opera/crew-sheet").status == 404);
  CHECK(bench.gate.snapshot()->ticks->empty());
  const auto none = bench.call("GET", sheet + "?from=opera");
  CHECK(none.status == 422);
  CHECK(none.text("detail") ==
        "There is no segment \"opera\" in this show; allowed is speeches and encore.");
  const auto itself = bench.call("GET", "/segments/speeches/crew-sheet");
  CHECK(itself.status == 422);
  CHECK(itself.text("detail") ==
        "From speeches to itself there is no way; allowed is finale and encore.");
}

TEST_CASE("going and arming say what is not ticked, and go all the same") {
  WebBench bench{crew_show()};
  bench.call("POST", sheet + "/tick", R"({"rows":["voice-1.off"]})");
  bench.call("POST", "/rack/lock", "{}");
  const auto armed = bench.call("POST", "/running-order/arm", R"({"cue":"finale"})");
  REQUIRE(armed.status == 200);
  CHECK(armed.body.at("armed").at("not_ticked") == open_second);
  CHECK(bench.call("GET", "/running-order").body.at("armed").at("not_ticked") == open_second);
  const auto gone = bench.call("POST", "/switch", R"({"segment":"finale"})");
  REQUIRE(gone.status == 200);
  CHECK(gone.text("outcome") == "done");
  CHECK(gone.body.at("switch").at("not_ticked") == open_second);
  CHECK(bench.call("GET", "/switch").body.at("not_ticked") == open_second);
  // What comes after is ticked on the same sheet, by its name alone.
  const auto after = bench.call("POST", sheet + "/tick", R"({"rows":["voice-3.on"]})");
  REQUIRE(after.status == 200);
  CHECK(after.text("from") == "speeches");
  CHECK(after.body.at("rows")[0].contains("ticked"));
  CHECK(after.body.at("rows")[2].contains("ticked"));
}

TEST_CASE("a preview may start from any segment, with the nodes as it has them") {
  WebBench bench{crew_show()};
  bench.gate.on(rack::NodeFellSilent{uid(2)});
  bench.call("POST", "/rack/lock", "{}");
  const auto now = bench.call("GET", "/segments/encore/preview");
  CHECK(now.body.at("from_now") == true);
  CHECK(now.text("would_be") == "refused");

  const auto preview = bench.call("GET", "/segments/encore/preview?from=finale");
  REQUIRE(preview.status == 200);
  CHECK(preview.body.at("from_now") == false);
  CHECK(preview.text("from") == "finale");
  CHECK(preview.text("to") == "encore");
  // The lock and the silent node are of now.
  CHECK(preview.text("would_be") == "done");
  CHECK(preview.body.at("obstacles").empty());
  REQUIRE(preview.body.at("nodes").size() == 3);
  for (const auto& node : preview.body.at("nodes")) {
    CHECK(node.at("before").at("centre_mhz") == 618.0);
    CHECK(node.at("target").at("centre_mhz") == 628.0);
    CHECK(node.at("answers") == true);
  }
  CHECK(preview.body.at("crew_sheet").at("from") == "finale");
  CHECK(preview.body.at("crew_sheet").at("rows")[0].at("what") ==
        "voice-3 off, 620.000 MHz, then to 625.000 MHz");
  CHECK(bench.gate.sent.empty());
  // From where the rack is, but not as it is: a knob that was turned does not count.
  bench.gate.turn(1, slide_at(6, 530));
  const auto planned = bench.call("GET", "/segments/finale/preview?from=speeches");
  CHECK(planned.body.at("nodes")[0].at("before").at("centre_mhz") == 518.0);
  const auto shown = bench.call("GET", "/segments/finale/preview");
  CHECK(shown.body.at("nodes")[0].at("before").at("centre_mhz") == 530.0);
  const auto without = bench.call("GET", "/segments/encore/preview?from=finale&without=left");
  CHECK(without.body.at("nodes")[0].at("left_out") == true);
}

TEST_CASE("a preview from a segment that is none, or from itself, is told which there are") {
  WebBench bench{crew_show()};
  const auto none = bench.call("GET", "/segments/finale/preview?from=opera&without=mast");
  CHECK(none.status == 422);
  REQUIRE(none.body.at("errors").size() == 2);
  CHECK(none.body.at("errors")[1].at("pointer") == "query/from");
  const auto itself = bench.call("GET", "/segments/finale/preview?from=finale");
  CHECK(itself.status == 422);
  CHECK(first_error(itself) == "query/from | finale | speeches and encore");
  CHECK(bench.call("GET", "/segments/finale/preview?from=").status == 422);
}
