// SPDX-License-Identifier: Apache-2.0
// A matrix in the core: who hears through whom follows its routes, and these are changed, read
// back, adopted and checked as the settings of any node.
#include <doctest/doctest.h>

#include <algorithm>

#include "tests/support/matrix_bench.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rack::Outcome;

namespace {

using Nodes = std::vector<plan::NodeName>;
using Names = std::vector<std::string>;

std::vector<std::string> sentences(const rack::Verdict& verdict) {
  std::vector<std::string> all;
  for (const auto& finding : verdict.findings)
    all.push_back(std::string{rack::name_of(finding.rule)} + ": " + finding.sentence);
  return all;
}

}  // namespace

TEST_CASE("who hears through whom follows what the matrix shows") {
  Bench bench;
  CHECK(bench.heard(1).empty());
  CHECK(bench.core.snapshot()->nodes.size() == 3);
  REQUIRE(bench.core.snapshot()->matrices.size() == 1);
  bench.meet();
  CHECK(bench.heard(1) == Nodes{{"left"}});
  CHECK(bench.heard(2) == Nodes{{"right"}});
  CHECK(bench.core.snapshot()->find({"left"})->serves.size() == 1);
  CHECK(bench.shore()->wanted->settings == plan::NodeSettings{straight});
  CHECK(bench.shore()->agreement == rack::Agreement::agreed);
  CHECK(bench.journal.front().what ==
        "met for the first time with output 1 1; output 2 2; input 1 supply 12 V; input 2 supply "
        "12 V; input 3 supply 12 V; input 4 supply 12 V");

  SUBCASE("by hand too, which is drift, and can be adopted") {
    bench.report(shore_set({{1, 3}, {2}, {}}));
    CHECK(bench.heard(1) == Nodes{{"left"}, {"spare"}});
    CHECK(bench.shore()->agreement == rack::Agreement::drifted);
    CHECK(bench.alarms() == Names{"drifted shore"});
    CHECK(bench.core.snapshot()->alarms->front().sentence ==
          "shore shows output 1 1+3 (wanted 1). Adopt it or re-apply.");
    bench.on(rack::AdoptRequested{.request = 1, .node = {"shore"}, .who = "ana"});
    CHECK(bench.answers.back().outcome == Outcome::settled);
    CHECK(bench.shore()->agreement == rack::Agreement::agreed);
    CHECK(bench.alarms().empty());
  }
  SUBCASE("a matrix without supply passes nothing, whatever it is set to") {
    auto state = state_of(straight);
    state.reading.telemetry.powered = false;
    bench.on(rack::NodeReported{uid(shore_uid), state});
    CHECK(bench.heard(1).empty());
    CHECK(bench.alarms() == Names{"passive shore", "off-plan shore"});
    CHECK(bench.shore()->agreement == rack::Agreement::agreed);
    bench.report(straight);
    CHECK(bench.heard(1) == Nodes{{"left"}});
  }
}

TEST_CASE("without supply its passive routes are left, if it has any") {
  auto sheet = shore_sheet();
  sheet.unsupplied = plan::PassiveRoutes{{{2}, {}, {}}, rf::Decibel::of(2)};
  Bench bench{{.epoch = {1}}, sheet};
  bench.meet();
  auto state = state_of(straight);
  state.reading.telemetry.powered = false;
  bench.on(rack::NodeReported{uid(shore_uid), state});
  CHECK(bench.heard(1) == Nodes{{"right"}});
  CHECK(bench.heard(2).empty());
  const auto& chain = bench.core.snapshot()->plan->receivers[0].branches[0].chain;
  REQUIRE(chain.size() == 1);
  CHECK(std::get<plan::FixedLoss>(chain[0]).loss == rf::Decibel::of(2));
}

TEST_CASE("routes are checked, recorded, staged, applied and read back") {
  Bench bench;
  bench.meet();
  bench.sent.clear();
  bench.route({.routes = {{1, {1, 3}}}, .labels = {{3, "float"}}});
  CHECK(bench.answers.back().outcome == Outcome::accepted);
  CHECK(bench.journal.back().what == "output 1: 1 → 1+3; input 3 label: \"\" → \"float\"");
  auto wanted = shore_set({{1, 3}, {2}, {}});
  wanted.inputs[2].label = "float";
  REQUIRE(bench.sent.size() == 1);
  const auto* stage = std::get_if<protocol::StageMatrix>(&bench.sent.back().request);
  REQUIRE(stage != nullptr);
  CHECK(stage->settings == rack::to_wire(wanted));
  bench.answer(protocol::Done{});
  CHECK(std::holds_alternative<protocol::Apply>(bench.sent.back().request));
  // Not before it is read back.
  CHECK(bench.heard(1) == Nodes{{"left"}});
  bench.answer(protocol::Done{});
  CHECK(std::holds_alternative<protocol::Read>(bench.sent.back().request));
  bench.answer(state_of(wanted));
  CHECK(bench.answers.back().outcome == Outcome::settled);
  CHECK(bench.heard(1) == Nodes{{"left"}, {"spare"}});
  CHECK(bench.shore()->wanted->revision == 2);
}

TEST_CASE("a matrix that reads back something else has failed, and says in what") {
  Bench bench;
  bench.meet();
  bench.route({.routes = {{1, {1, 3}}}});
  bench.answer(protocol::Done{});
  bench.answer(protocol::Done{});
  bench.answer(state_of(straight));
  CHECK(bench.answers.back().outcome == Outcome::failed);
  CHECK(bench.answers.back().detail == "The node reads back output 1 1 (wanted 1+3).");
  CHECK(bench.shore()->wanted->settings == plan::NodeSettings{straight});
}

TEST_CASE("what the datasheet does not know is refused in words, and nothing is sent") {
  struct Case {
    plan::MatrixPatch patch;
    std::string sentence;
  };
  const auto db = [](double value) { return rf::Gain::decibels(value); };
  const std::vector<Case> cases{
      {{.routes = {{4, {1}}}}, "matrix-route: A summer has no output 4; its outputs are 1 to 3."},
      {{.routes = {{0, {1}}}}, "matrix-route: A summer has no output 0; its outputs are 1 to 3."},
      {{.routes = {{3, {5}}}}, "matrix-route: A summer has no input 5; its inputs are 1 to 4."},
      {{.routes = {{3, {1, 2, 3}}}},
       "matrix-route: Output 3 cannot take 1+2+3: a summer sums at most 2 inputs."},
      {{.trims = {{1, db(-10.5)}}},
       "matrix-trim: The trim of input 1 cannot be -10.5 dB; it goes from -10 dB to +0 dB."},
      {{.trims = {{1, db(0.5)}}},
       "matrix-trim: The trim of input 1 cannot be +0.5 dB; it goes from -10 dB to +0 dB."},
      {{.trims = {{2, db(-0.25)}}},
       "matrix-trim: -0.25 dB for input 2 is between two steps; it moves in steps of +0.5 dB from "
       "-10 dB."},
      {{.trims = {{9, db(-1)}}}, "matrix-route: A summer has no input 9; its inputs are 1 to 4."},
      {{.supplies_mv = {{4, 5'000}}},
       "matrix-supply: Input 4 cannot feed 5 V; it feeds 9 V and 12 V, or is off."},
      {{.labels = {{4, "seventeen bytes!!"}}},
       "label-length: The label of input 4 is 17 bytes long; a node keeps 16."},
      {{.label = "\x1b[31m"},
       "label-text: The label has characters that a node cannot show: allowed is UTF-8 text "
       "without control or format characters."},
  };
  for (const auto& [patch, sentence] : cases) {
    CAPTURE(sentence);
    Bench bench;
    bench.meet();
    bench.sent.clear();
    bench.route(patch);
    CHECK(bench.answers.back().outcome == Outcome::refused);
    CHECK(sentences(bench.answers.back().verdict) == Names{sentence});
    CHECK(bench.sent.empty());
  }
}

TEST_CASE("routes that leave a receiver without an antenna are refused; without one, a caution") {
  Bench bench;
  bench.meet();
  bench.route({.routes = {{1, {}}, {2, {4}}}}, true);
  CHECK(bench.answers.back().outcome == Outcome::checked);
  CHECK(sentences(bench.answers.back().verdict) ==
        Names{"receiver-without-antenna: Receiver vocals has no antenna by these routes, and is to "
              "hear voice-1 and voice-2."});
  bench.route({.routes = {{2, {}}}}, true);
  CHECK(sentences(bench.answers.back().verdict) ==
        Names{"receiver-without-antenna: Receiver vocals has an antenna on one of its two branches "
              "only: without diversity it is to hear voice-1 and voice-2."});
  CHECK(bench.answers.back().verdict.needs_waiver());
}

TEST_CASE("an antenna that does not pass what its new receiver is to hear is found by the routes") {
  Bench bench;
  bench.meet();
  bench.report(3, slide_at(0, 620));
  bench.route({.routes = {{1, {3}}, {2, {3}}}}, true);
  const auto& verdict = bench.answers.back().verdict;
  CHECK(verdict.refuses());
  CHECK(std::ranges::any_of(verdict.findings, [](const rack::Finding& finding) {
    return finding.rule == rack::Rule::diversity_dark && finding.node.text == "spare";
  }));
}

TEST_CASE("what was wrong before is not the routes' doing") {
  Bench bench;
  bench.meet();
  bench.report(2, slide_at(0, 620));  // outside what it has to bring: off plan already
  CHECK(bench.core.snapshot()->find({"right"})->standing.refuses());
  bench.route({.trims = {{2, rf::Gain::decibels(-2)}}}, true);
  CHECK_FALSE(bench.answers.back().verdict.refuses());
}

TEST_CASE("while nobody knows which routes are in force, amplifiers are checked with either") {
  Bench bench;
  bench.meet();
  // Right may go where it is not heard, as long as the routes are known.
  const auto away = [&bench] {
    bench.on(rack::ChangeRequested{.request = ++bench.request,
                                   .node = {"spare"},
                                   .patch = {.centre = rf::Frequency::megahertz(620)},
                                   .dry_run = true,
                                   .who = "ana"});
    return bench.answers.back().verdict;
  };
  CHECK_FALSE(away().refuses());
  bench.route({.routes = {{1, {3}}}});
  bench.answer(protocol::Done{});
  bench.on(rack::CommandFailed{bench.sent.back().command, protocol::Fault::timed_out});
  bench.on(rack::CommandFailed{bench.sent.back().command, protocol::Fault::timed_out});
  CHECK(bench.answers.back().outcome == Outcome::unreachable);
  CHECK(bench.shore()->uncertain);
  CHECK(away().refuses());
  bench.report(straight);
  CHECK_FALSE(away().refuses());
}

TEST_CASE("what is of another kind than the plan has it is nothing that is counted on") {
  Bench bench;
  bench.meet();
  SUBCASE("a matrix that answers as an amplifier") {
    bench.on(rack::NodeReported{uid(shore_uid), reading_of(home)});
  }
  SUBCASE("a matrix with other sockets") {
    auto sheet = shore_sheet();
    sheet.inputs = 5;
    bench.on(rack::NodeReported{uid(shore_uid), state_of(sheet.nothing_set())});
  }
  CHECK(bench.shore()->link == rack::Link::silent);
  const auto names = bench.alarms();
  CHECK(std::ranges::find(names, "wrong-type shore") != names.end());
  CHECK(bench.shore()->seen->settings == plan::NodeSettings{straight});
}

TEST_CASE("settings of the other kind are asked of nobody") {
  Bench bench;
  bench.meet();
  bench.on(rack::ChangeRequested{
      .request = 1, .node = {"shore"}, .patch = {.gain = rf::Gain::decibels(3)}, .who = "ana"});
  CHECK(bench.answers.back().outcome == Outcome::unknown_name);
  bench.on(
      rack::RoutesRequested{.request = 2, .node = {"left"}, .patch = {.label = "x"}, .who = "ana"});
  CHECK(bench.answers.back().outcome == Outcome::unknown_name);
}

TEST_CASE("after a restart the routes are those that were wanted, until the matrix is read") {
  rack::Restored restored{.epoch = {2}};
  const auto kept = shore_set({{3}, {2}, {}});
  restored.wanted.emplace(uid(shore_uid), rack::Wanted{kept, 5});
  Bench bench{restored};
  CHECK(bench.heard(1) == Nodes{{"spare"}});
  SUBCASE("of another kind, or of another unit, they are not taken") {
    rack::Restored wrong{.epoch = {2}};
    wrong.wanted.emplace(uid(shore_uid), rack::Wanted{home, 5});
    wrong.wanted.emplace(uid(1), rack::Wanted{kept, 5});
    Bench other{wrong};
    CHECK_FALSE(other.shore()->wanted);
    CHECK_FALSE(other.core.snapshot()->find({"left"})->wanted);
  }
  SUBCASE("and a change that was under way is resolved by what it shows") {
    restored.unfinished.push_back({7, uid(shore_uid), straight, kept});
    Bench other{restored};
    other.report(kept);
    CHECK(other.shore()->agreement == rack::Agreement::agreed);
    CHECK(other.journal.back().fate == "settled: found in force after the daemon was restarted");
  }
}

TEST_CASE("the lock holds routes; what is wanted may be sent once more") {
  Bench bench;
  bench.meet();
  bench.on(rack::LockRequested{.request = 1, .locked = true, .who = "ana"});
  bench.route({.routes = {{1, {1, 3}}}});
  CHECK(bench.answers.back().outcome == Outcome::refused);
  bench.report(shore_set({{2}, {1}, {}}));
  bench.sent.clear();
  bench.on(rack::ReapplyRequested{.request = 3, .node = {"shore"}, .who = "ana"});
  CHECK(bench.answers.back().outcome == Outcome::accepted);
  CHECK(std::holds_alternative<protocol::StageMatrix>(bench.sent.back().request));
}

TEST_CASE("a plan that is read anew keeps how its matrices are set") {
  Bench bench;
  bench.meet();
  auto plan = matrix_rack();
  plan.nodes[2].ends_at = plan::InputOf{{"shore"}, 1};
  plan.nodes[0].ends_at = plan::InputOf{{"shore"}, 3};
  bench.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
  CHECK(bench.heard(1) == Nodes{{"spare"}});
  plan.segments.erase(plan.segments.begin());  // the one on the air
  bench.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
  CHECK(bench.core.snapshot()->segment.text == "finale");
  CHECK(bench.heard(1) == Nodes{{"spare"}});
  auto other = shore_sheet();
  other.outputs = 2;
  bench.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(matrix_rack(other)), "ana"});
  CHECK_FALSE(bench.shore()->wanted);
  CHECK(bench.heard(1).empty());
}
