// SPDX-License-Identifier: Apache-2.0
// What a node's document says of it in a word, as lists have it.
#include "web/server/documents/condition.hpp"

#include <doctest/doctest.h>

#include "tests/support/web_fixture.hpp"
#include "web/server/documents/render_switch.hpp"
#include "web/server/documents/switched_words.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

// "fault passive: no supply: passive"
std::vector<std::string> conditions(WebBench& bench, const std::string& node) {
  std::vector<std::string> all;
  const auto told = bench.call("GET", "/nodes/" + node).body;
  for (const auto& one : told.at("conditions"))
    all.push_back(one.at("level").get<std::string>() + ' ' + one.at("kind").get<std::string>() +
                  ": " + one.at("word").get<std::string>());
  return all;
}
using Words = std::vector<std::string>;

}  // namespace

TEST_CASE("a node in order is calm, and says so in one word") {
  WebBench bench;
  CHECK(conditions(bench, "left") == Words{"calm calm: as wanted"});
  auto spare = *bench.gate.snapshot()->find({"spare"});
  spare.seen->settings.amplifier()->power = false;
  CHECK(web::conditions_of(spare).front().word == "power off, as wanted");
  spare.agreement = rack::Agreement::not_ours;
  CHECK(web::conditions_of(spare).front().word == "another controller’s");
  spare.agreement = rack::Agreement::unknown;
  spare.seen.reset();
  CHECK(web::conditions_of(spare).front().word == "nothing known");
}

TEST_CASE("the worst stands first: no supply before what somebody turned") {
  WebBench bench;
  auto turned = reading_of(slide_at(4, 518));
  turned.telemetry.locally_changed = true;
  bench.gate.on(rack::NodeReported{uid(1), turned});
  CHECK(conditions(bench, "left") == Words{"caution drifted: changed by hand"});
  turned.telemetry.powered = false;
  bench.gate.on(rack::NodeReported{uid(1), turned});
  CHECK(conditions(bench, "left") == Words{"fault passive: no supply: passive",
                                           "caution drifted: changed by hand",
                                           "caution cautions: 1 caution"});
}

TEST_CASE("a node that is silent, or whose line is down, says what that means") {
  WebBench bench;
  bench.gate.on(rack::NodeFellSilent{uid(1)});
  CHECK(conditions(bench, "left") == Words{"fault silent: silent"});
  CHECK(bench.call("GET", "/nodes/left").body.at("conditions")[0].at("sentence") ==
        "It does not answer. It keeps its last settings: what stands here is the last that was "
        "read.");
  bench.gate.on(rack::LineWentDown{{"net"}, "unplugged"});
  CHECK(conditions(bench, "spare") == Words{"fault line-down: line down"});
}

TEST_CASE("what the rules refuse is off plan, with the first sentence of it") {
  WebBench bench;
  REQUIRE(bench.call("POST", "/rack/segment", R"({"segment":"finale"})").status == 200);
  const auto left = bench.call("GET", "/nodes/left").body;
  CHECK(left.at("conditions")[0].at("kind") == "off-plan");
  CHECK(left.at("conditions")[0].at("sentence") == left.at("findings")[0].at("sentence"));
}

TEST_CASE("a change under way says how far it is, in the words of its stage") {
  WebBench bench;
  bench.gate.hold = true;
  bench.begin("PATCH", "/nodes/spare/settings", R"({"gain_db":3})",
              {{"if-match", "\"1\""}, {"content-type", "application/merge-patch+json"}});
  CHECK(conditions(bench, "spare") == Words{"moving changing: staging"});
}

TEST_CASE("a kind of condition that an alarm tells of has the name of that alarm") {
  WebBench bench;
  bench.gate.turn(1, slide_at(4, 518));
  const auto alarm = bench.call("GET", "/alarms").body.at("alarms").at(0);
  CHECK(bench.call("GET", "/nodes/left").body.at("conditions")[0].at("kind") == alarm.at("kind"));
}

TEST_CASE("a place is what stands before the first comma, without spaces around it") {
  rack::NodeView node;
  const auto place = [&](const char* hangs) {
    node.hangs = hangs;
    return web::place_of(node);
  };
  CHECK(place("floating stage, bow mast") == "floating stage");
  CHECK(place(" quay , east") == "quay");
  CHECK(place("over the stage") == "over the stage");
  CHECK(place("").empty());
  CHECK(place("  , left").empty());
}

namespace {

// Of a switch that stands there, whether it turned back or not.
web::SwitchedWords said(rack::Whereabouts where, rack::Progress progress, rack::SwitchStage stage,
                        bool back = false) {
  rack::SwitchedNode node;
  node.where = where;
  node.progress = progress;
  rack::SwitchView one;
  one.stage = stage;
  one.back = back;
  return web::switched_words(node, one);
}

}  // namespace

TEST_CASE("a node of a switch says how far it is, in as many steps as there are to one") {
  using enum rack::Progress;
  using enum rack::Whereabouts;
  using web::Level;
  const auto staging_stage = rack::SwitchStage::staging;
  CHECK(said(before, waiting, staging_stage) == web::SwitchedWords{Level::calm, "waits", 0});
  CHECK(said(before, staging, staging_stage) == web::SwitchedWords{Level::moving, "is told", 1});
  CHECK(said(before, staged, staging_stage) ==
        web::SwitchedWords{Level::moving, "has confirmed", 2});
  CHECK(said(before, applying, staging_stage) ==
        web::SwitchedWords{Level::moving, "puts in force", 3});
  CHECK(said(target, reading_back, staging_stage) ==
        web::SwitchedWords{Level::moving, "is read back", 3});
  CHECK(said(target, waiting, staging_stage) == web::SwitchedWords{Level::calm, "as planned", 4});
  CHECK(said(unknown, failed, staging_stage) ==
        web::SwitchedWords{Level::fault, "failed; not known", 0});
  // On the way back the end is where it began.
  CHECK(said(target, waiting, staging_stage, true) == web::SwitchedWords{Level::calm, "waits", 0});
  CHECK(said(before, waiting, staging_stage, true) ==
        web::SwitchedWords{Level::calm, "as before", 4});
}

TEST_CASE("at its end a switch has a fault wherever a node was left in no good place") {
  using enum rack::Whereabouts;
  using web::Level;
  const auto ended = [](rack::Whereabouts where, rack::SwitchStage stage) {
    return said(where, rack::Progress::waiting, stage);
  };
  using rack::SwitchStage;
  CHECK(ended(target, SwitchStage::done) == web::SwitchedWords{Level::calm, "as planned", 4});
  CHECK(ended(before, SwitchStage::done) == web::SwitchedWords{Level::caution, "as before", 0});
  CHECK(ended(before, SwitchStage::rolled_back) == web::SwitchedWords{Level::calm, "as before", 4});
  CHECK(ended(before, SwitchStage::stuck) == web::SwitchedWords{Level::fault, "as before", 0});
  CHECK(ended(target, SwitchStage::stuck) == web::SwitchedWords{Level::calm, "as planned", 4});
  CHECK(ended(between, SwitchStage::stuck).word == "on intermediate settings");
  CHECK(ended(elsewhere, SwitchStage::stuck).word == "on settings of neither");
  CHECK(ended(not_ours, SwitchStage::stuck).word == "another controller’s");
  rack::SwitchView restores;
  restores.restores = true;
  rack::SwitchedNode node;
  node.where = target;
  CHECK(web::switched_words(node, restores).word == "as wanted");
}

TEST_CASE("the feed tells a node of a switch again when only what is said of it is another") {
  auto plan = std::make_shared<plan::RackPlan>(small_rack());
  const auto node = std::make_shared<rack::SwitchedNode>();
  node->node = {"left"};
  node->where = rack::Whereabouts::before;
  rack::SwitchView first;
  first.stage = rack::SwitchStage::staging;
  first.nodes = {node};
  auto next = first;
  CHECK(web::render(next, *plan, &first).at("nodes").empty());
  next.back = true;
  const auto told = web::render(next, *plan, &first).at("nodes");
  REQUIRE(told.size() == 1);
  CHECK(told[0].at("word") == "as before");
}
