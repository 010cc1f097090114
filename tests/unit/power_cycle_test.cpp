// SPDX-License-Identifier: Apache-2.0
// The power of an antenna, off and on again from the rack: what is wanted stays, the wait is that
// of its datasheet, and where it goes wrong somebody is told what was left.
#include <doctest/doctest.h>

#include <algorithm>

#include "tests/support/matrix_bench.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rack::ChangeStage;
using rack::Outcome;
using std::chrono_literals::operator""s;
using std::chrono_literals::operator""ms;

namespace {

// Antennas that live on their cables and have to be off for 20 s.
plan::RackPlan fed_rack() {
  auto rack = matrix_rack();
  auto sheet = *rack.nodes.front().datasheet;
  sheet.supply = plan::TakenSupply{9'000, 13'000, 90, 20'000ms};
  for (auto& node : rack.nodes) node.datasheet = std::make_shared<const plan::Datasheet>(sheet);
  return rack;
}

struct Fed : Bench {
  using Bench::Bench;
  Fed() : Bench{fed_rack()} { meet(); }

  void cycle(std::size_t input, bool is_signed = true, bool dry_run = false) {
    std::optional<rack::Waiver> waiver;
    if (is_signed) waiver = rack::Waiver{"ana", "it hangs"};
    on(rack::PowerCycleRequested{.request = ++request,
                                 .node = {"shore"},
                                 .input = input,
                                 .dry_run = dry_run,
                                 .waiver = waiver,
                                 .who = "ana",
                                 .why = "no sound from left"});
  }
  // The unit obeys what was sent last, through to its reading.
  void obey(const plan::MatrixSettings& reads) {
    answer(protocol::Done{});
    answer(protocol::Done{});
    answer(state_of(reads));
  }
  // Without supply a node shows what it had.
  void report_unfed(std::uint64_t node) {
    auto passive = reading_of(home);
    passive.telemetry.powered = false;
    on(rack::NodeReported{uid(node), passive});
  }
  plan::MatrixSettings staged() const {
    const auto* stage = std::get_if<protocol::StageMatrix>(&sent.back().request);
    REQUIRE(stage != nullptr);
    return rack::from_wire(stage->settings);
  }
  rack::ChangeStage stage() const { return core.snapshot()->changes->back().stage; }
  plan::MatrixSettings wanted() const { return *shore()->wanted->settings.matrix(); }
};

plan::MatrixSettings without(std::size_t input) {
  auto settings = straight;
  settings.inputs[input - 1].supply_mv = 0;
  return settings;
}

}  // namespace

TEST_CASE("off, read back, off for as long as the datasheet asks, on, read back") {
  Fed bench;
  const auto revision = bench.shore()->wanted->revision;
  bench.cycle(1);
  CHECK(bench.answers.back().outcome == Outcome::accepted);
  CHECK(bench.staged() == without(1));
  const auto first = std::get<protocol::StageMatrix>(bench.sent.back().request).ticket;
  bench.obey(without(1));
  CHECK(bench.stage() == ChangeStage::resting);
  CHECK(bench.wanted() == straight);
  const auto sent = bench.sent.size();
  const auto until = bench.core.deadline();
  REQUIRE(until);
  CHECK(*until - bench.now == 20s);
  bench.on(rack::TimePassed{});
  bench.now = *until - 2s;
  bench.on(rack::TimePassed{});
  CHECK(bench.sent.size() == sent);
  bench.on(rack::TimePassed{});
  REQUIRE(bench.sent.size() == sent + 1);
  CHECK(bench.staged() == straight);
  CHECK(std::get<protocol::StageMatrix>(bench.sent.back().request).ticket != first);
  bench.obey(straight);
  CHECK(bench.answers.back().outcome == Outcome::settled);
  CHECK(bench.stage() == ChangeStage::settled);
  CHECK(bench.wanted() == straight);
  CHECK(bench.shore()->wanted->revision == revision + 1);
  const auto told = std::ranges::find(bench.journal, std::string{"input 1 (left) off for 20 s"},
                                      &rack::JournalEntry::what);
  REQUIRE(told != bench.journal.end());
  CHECK(told->who == "ana");
  CHECK(told->why == "no sound from left");
  CHECK(told->waiver == "ana: it hangs");
}

TEST_CASE("meanwhile one alarm has the cause, and it returns by itself") {
  Fed bench;
  bench.cycle(1);
  bench.obey(without(1));
  bench.report_unfed(1);
  const auto fed = [&] {
    const auto& alarms = *bench.core.snapshot()->alarms;
    return std::ranges::find_if(alarms, [](const rack::Alarm& alarm) {
      return alarm.kind == rack::AlarmKind::not_fed && alarm.active();
    });
  };
  REQUIRE(fed() != bench.core.snapshot()->alarms->end());
  CHECK(fed()->sentence == "Input 1 of shore feeds nothing while the power of left is cycled.");
  bench.now += 30s;
  bench.on(rack::TimePassed{});
  bench.obey(straight);
  bench.report(1, home);
  CHECK(fed() == bench.core.snapshot()->alarms->end());
}

TEST_CASE("an antenna that has forgotten its settings meanwhile is told them again") {
  Fed bench;
  bench.cycle(1);
  bench.obey(without(1));
  bench.report_unfed(1);
  bench.now += 30s;
  bench.on(rack::TimePassed{});
  // Read once more before its supply is back: it still shows what it had.
  const auto stage = bench.sent.back().command;
  bench.report_unfed(1);
  bench.on(rack::CommandAnswered{stage, protocol::Done{}});
  bench.answer(protocol::Done{});
  bench.answer(state_of(straight));
  const auto sent = bench.sent.size();
  auto fresh = reading_of(slide_at(0, 585));
  fresh.telemetry.boots += 1;
  bench.on(rack::NodeReported{uid(1), fresh});
  REQUIRE(bench.sent.size() == sent + 1);
  CHECK(bench.sent.back().node == uid(1));
  // Once; what it forgets on its own account later is its policy's business.
  bench.answer(protocol::Done{});
  bench.answer(protocol::Done{});
  bench.answer(reading_of(home));
  CHECK(bench.core.snapshot()->find({"left"})->agreement == rack::Agreement::agreed);
  fresh.telemetry.boots += 1;
  const auto quiet = bench.sent.size();
  bench.on(rack::NodeReported{uid(1), fresh});
  CHECK(bench.sent.size() == quiet);
  CHECK(bench.core.snapshot()->find({"left"})->agreement == rack::Agreement::drifted);
}

TEST_CASE("an antenna in use takes somebody who answers for it, and a dry run sends nothing") {
  Fed bench;
  bench.cycle(1, false);
  CHECK(bench.answers.back().outcome == Outcome::needs_waiver);
  REQUIRE(bench.answers.back().verdict.findings.size() >= 1);
  CHECK(bench.answers.back().verdict.findings.front().sentence ==
        "left is to be heard and gets no supply from input 1 of shore.");
  bench.cycle(1, false, true);
  CHECK(bench.answers.back().outcome == Outcome::checked);
  CHECK(bench.sent.empty());
  // Nobody hears spare.
  bench.cycle(3, false);
  CHECK(bench.answers.back().outcome == Outcome::accepted);
}

TEST_CASE("what has no power to cycle is refused in words") {
  Fed bench;
  const auto said = [&bench](std::size_t input) {
    bench.cycle(input);
    CHECK(bench.answers.back().outcome == Outcome::refused);
    CHECK(bench.sent.empty());
    return bench.answers.back().detail;
  };
  CHECK(said(0) == "A summer has no input 0; its inputs are 1 to 4.");
  CHECK(said(5) == "A summer has no input 5; its inputs are 1 to 4.");
  bench.on(rack::LockRequested{.request = ++bench.request, .who = "ana"});
  CHECK(said(1) == "Refused; nothing was changed.");
  CHECK(std::ranges::any_of(bench.answers.back().verdict.findings, [](const auto& finding) {
    return finding.rule == rack::Rule::show_locked;
  }));
  bench.on(rack::LockRequested{.request = ++bench.request, .locked = false, .who = "ana"});
  bench.report(without(2));
  CHECK(said(1) ==
        "shore does not show what is wanted of it now; adopt what it shows or re-apply first.");
  bench.on(rack::PowerCycleRequested{.request = 90, .node = {"left"}, .input = 1, .who = "ana"});
  CHECK(bench.answers.back().detail == "left is no matrix.");
  auto sheet = shore_sheet();
  sheet.supply.reset();
  Bench mute{{.epoch = {1}}, sheet};
  mute.meet();
  mute.on(rack::PowerCycleRequested{.request = 1, .node = {"shore"}, .input = 1, .who = "ana"});
  CHECK(mute.answers.back().detail == "A summer feeds nothing: there is no power to cycle.");
}

TEST_CASE("an input whose supply is off has nothing to cycle") {
  Fed bench;
  bench.report(without(4));
  bench.on(rack::AdoptRequested{.request = ++bench.request, .node = {"shore"}, .who = "ana"});
  bench.cycle(4);
  CHECK(bench.answers.back().detail ==
        "Input 4 of shore feeds nothing: there is no power to cycle.");
}

TEST_CASE("a unit that is lost meanwhile leaves what is wanted, and says how it was left") {
  Fed bench;
  bench.cycle(1);
  bench.obey(without(1));
  bench.now += 30s;
  bench.on(rack::TimePassed{});
  bench.on(rack::CommandFailed{bench.sent.back().command, protocol::Fault::timed_out});
  CHECK(bench.answers.back().outcome == Outcome::unreachable);
  CHECK(bench.answers.back().detail.ends_with(
      "It was left with input 1 (left) off: re-apply what is wanted."));
  CHECK(bench.wanted() == straight);
  bench.report(without(1));
  const auto alarms = bench.alarms();
  CHECK(std::ranges::find(alarms, "drifted shore") != alarms.end());
  CHECK(bench.shore()->agreement == rack::Agreement::drifted);
}

TEST_CASE("a unit that is lost before it has told what it did may have been left so") {
  Fed bench;
  bench.cycle(1);
  bench.answer(protocol::Done{});
  bench.on(rack::CommandFailed{bench.sent.back().command, protocol::Fault::timed_out});
  bench.on(rack::CommandFailed{bench.sent.back().command, protocol::Fault::timed_out});
  CHECK(bench.answers.back().outcome == Outcome::unreachable);
  CHECK(bench.answers.back().detail.ends_with(
      "It may have been left with input 1 (left) off: read it, and re-apply what is wanted."));
}

TEST_CASE("a unit that does not cut the supply has failed, and nothing was left") {
  Fed bench;
  bench.cycle(1);
  bench.obey(straight);
  CHECK(bench.answers.back().outcome == Outcome::failed);
  CHECK(bench.answers.back().detail.find("was left") == std::string::npos);
  CHECK(bench.shore()->agreement == rack::Agreement::agreed);
}

TEST_CASE("what is wanted after a restart in the middle is the supply") {
  Fed bench{fed_rack(), rack::Restored{.wanted = {{uid(shore_uid), {straight, 4}}},
                                       .unfinished = {{7, uid(shore_uid), straight, straight}},
                                       .epoch = {2}}};
  bench.report(without(1));
  CHECK(bench.wanted() == straight);
  CHECK(bench.shore()->agreement == rack::Agreement::drifted);
}

TEST_CASE("the wait is time that passes, whatever becomes of the clock") {
  Fed bench;
  bench.cycle(1);
  bench.obey(without(1));
  const auto left = *bench.core.deadline() - bench.now;
  bench.now += std::chrono::hours{1};
  bench.on(rack::ClockStepped{std::chrono::hours{1}});
  CHECK(bench.stage() == ChangeStage::resting);
  CHECK(*bench.core.deadline() - bench.now == left - 1s);
}

TEST_CASE("nothing else is changed meanwhile, and a switch waits") {
  Fed bench;
  bench.cycle(1);
  bench.obey(without(1));
  bench.route({.routes = {{3, {3}}}});
  CHECK(bench.answers.back().outcome == Outcome::busy);
  bench.on(
      rack::SwitchRequested{.request = 77, .segment = plan::SegmentName{"finale"}, .who = "ana"});
  CHECK(bench.stage() == ChangeStage::resting);
  bench.now += 30s;
  bench.on(rack::TimePassed{});
  bench.obey(straight);
  CHECK(bench.wanted() == straight);
}
