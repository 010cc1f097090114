// SPDX-License-Identifier: Apache-2.0
// A switch that moves routes, supplies and amplifiers together; why an antenna is not fed, told
// once.
#include <doctest/doctest.h>

#include <algorithm>
#include <deque>
#include <map>

#include "daemon/rack/core/core.hpp"
#include "daemon/rack/way/way.hpp"
#include "tests/support/matrix_rack.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rack::Outcome;

namespace {

const auto home = slide_at(0, 518);
const auto away = slide_at(0, 618);

// In the second segment the receiver hears spare, on output 1, and the matrix ends left's supply;
// every window moves.
plan::RackPlan moving_routes() {
  auto rack = matrix_rack();
  auto sheet = *rack.nodes.front().datasheet;
  sheet.supply = plan::TakenSupply{9'000, 13'000, 90};
  const auto shared = std::make_shared<const plan::Datasheet>(sheet);
  for (auto& node : rack.nodes) node.datasheet = shared;
  // One branch, and a microphone that stays, so that it has to hear at every moment.
  rack.receivers[0].branches.resize(1);
  for (auto& segment : rack.segments) {
    segment.lanes.clear();
    segment.carriers = {microphone("stays", 568, "vocals")};
  }
  rack.segments[0].settings = {{{"left"}, to(0, 568)}};
  rack.segments[1].settings = {{{"spare"}, to(0, 568)}};
  rack.segments[0].matrices[{"shore"}] = {.routes = {{1, {1}}, {2, {2}}},
                                          .supplies_mv = {{1, 12'000}, {3, 12'000}}};
  rack.segments[1].matrices[{"shore"}] = {.routes = {{1, {3}}, {2, {2}}},
                                          .supplies_mv = {{1, 0}, {3, 12'000}}};
  return rack;
}

// Nodes that do as they are told.
struct Hall {
  struct Node {
    plan::NodeSettings force;
    plan::NodeSettings staged;
    protocol::Ticket ticket;
    bool silent = false;
    bool powered = true;
    std::vector<protocol::InputMeasured> inputs = {};

    protocol::AnyReading reading() const {
      if (const auto* own = force.amplifier()) {
        auto said = reading_of(*own);
        said.telemetry.powered = powered;
        return said;
      }
      auto said = state_of(*force.matrix());
      if (!inputs.empty()) said.inputs = inputs;
      said.reading.telemetry.powered = powered;
      return said;
    }
  };

  explicit Hall(plan::RackPlan plan = moving_routes())
      : core{std::make_shared<const plan::RackPlan>(std::move(plan)), begun(), now} {
    nodes[shore_uid].force = shore_set({{1}, {2}, {}});
    nodes[1].force = slide_at(0, 568);
    nodes[2].force = home;
    nodes[3].force = away;
    for (const auto bits : {shore_uid, std::uint64_t{1}, std::uint64_t{2}, std::uint64_t{3}})
      report(bits);
  }
  static rack::Restored begun() {
    rack::Restored restored{.epoch = {1}};
    restored.reached.emplace("speeches", rack::TimePoint{});
    return restored;
  }

  void report(std::uint64_t bits) { on(rack::NodeReported{uid(bits), nodes.at(bits).reading()}); }

  void on(const rack::Event& event) {
    events.push_back(event);
    for (int turns = 0; !events.empty(); ++turns) {
      REQUIRE(turns < 10'000);
      const auto next = events.front();
      events.pop_front();
      now += std::chrono::milliseconds{10};
      for (const auto& effect : core.on(next, now)) take(effect);
    }
  }
  void take(const rack::Effect& effect) {
    if (const auto* record = std::get_if<rack::Record>(&effect)) {
      for (const auto& entry : record->entries) journal.push_back(entry);
      events.emplace_back(rack::Recorded{record->id});
    } else if (const auto* answer = std::get_if<rack::Respond>(&effect)) {
      answers.push_back(answer->answer);
    } else if (const auto* plan = std::get_if<rack::PlanWay>(&effect)) {
      ways.push_back(rack::plan_way(plan->question));
      events.emplace_back(rack::WayPlanned{plan->id, ways.back()});
    } else if (const auto* send = std::get_if<rack::Send>(&effect)) {
      obey(*send);
    }
  }
  void obey(const rack::Send& send) {
    if (send.node == protocol::NodeUid::everyone()) {
      for (auto& [bits, node] : nodes) apply(bits, std::get<protocol::Apply>(send.request).ticket);
      events.emplace_back(rack::CommandAnswered{send.command, protocol::Done{}});
      return;
    }
    auto& node = nodes.at(send.node.bits());
    if (node.silent) {
      events.emplace_back(rack::CommandFailed{send.command, protocol::Fault::timed_out});
      return;
    }
    protocol::Answer answer = protocol::Done{};
    if (const auto* stage = std::get_if<protocol::Stage>(&send.request)) {
      node.staged = rack::from_wire(stage->settings);
      node.ticket = stage->ticket;
    } else if (const auto* routes = std::get_if<protocol::StageMatrix>(&send.request)) {
      node.staged = rack::from_wire(routes->settings);
      node.ticket = routes->ticket;
    } else if (const auto* now_apply = std::get_if<protocol::Apply>(&send.request)) {
      apply(send.node.bits(), now_apply->ticket);
    } else if (std::holds_alternative<protocol::Read>(send.request)) {
      std::visit([&](auto said) { answer = std::move(said); }, node.reading());
    }
    events.emplace_back(rack::CommandAnswered{send.command, std::move(answer)});
  }
  void apply(std::uint64_t bits, protocol::Ticket ticket) {
    auto& node = nodes.at(bits);
    if (node.silent || node.ticket != ticket) return;
    node.force = node.staged;
    order.push_back(bits);
    if (dies_after == bits) nodes.at(dying).silent = true;
  }
  rack::Answer go(const std::string& segment) {
    on(rack::SwitchRequested{.request = ++request,
                             .segment = plan::SegmentName{segment},
                             .waiver = rack::Waiver{"ana", "as rehearsed"},
                             .who = "ana"});
    return answers.back();
  }
  std::vector<std::string> alarms() const {
    std::vector<std::string> names;
    for (const auto& alarm : *core.snapshot()->alarms)
      if (alarm.active())
        names.push_back(std::string{rack::name_of(alarm.kind)} + ' ' + alarm.subject);
    return names;
  }
  const rack::Alarm* alarm(rack::AlarmKind kind, const std::string& subject) const {
    for (const auto& alarm : *core.snapshot()->alarms)
      if (alarm.kind == kind && alarm.subject == subject && alarm.active()) return &alarm;
    return nullptr;
  }

  rack::TimePoint now{std::chrono::hours{24 * 365 * 50}};
  std::map<std::uint64_t, Node> nodes;
  std::deque<rack::Event> events;
  rack::RequestId request = 0;
  std::vector<rack::Answer> answers;
  std::vector<rack::JournalEntry> journal;
  std::vector<rack::Way> ways;
  std::vector<std::uint64_t> order;  // in which they moved
  std::uint64_t dies_after = 0;
  std::uint64_t dying = 0;
  rack::Core core;
};

}  // namespace

TEST_CASE("routes and windows move in one switch, and no receiver is dark between") {
  Hall hall;
  const auto answer = hall.go("finale");
  CHECK(answer.outcome == Outcome::done);
  CHECK(hall.nodes.at(shore_uid).force.matrix()->outputs ==
        std::vector<plan::Inputs>{{3}, {2}, {}});
  CHECK(hall.nodes.at(shore_uid).force.matrix()->inputs[0].supply_mv == 0);
  CHECK(hall.nodes.at(3).force.amplifier()->centre == rf::Frequency::megahertz(568));
  // Spare is tuned to what stays before it is what the receiver hears.
  REQUIRE(hall.order.size() == 2);
  CHECK(hall.order == std::vector<std::uint64_t>{3, shore_uid});
  CAPTURE(rack::in_words(hall.ways.front().breaches));
  CHECK(hall.ways.front().clean());
  const auto snapshot = hall.core.snapshot();
  CHECK(snapshot->segment.text == "finale");
  CHECK(snapshot->plan->receivers[0].branches[0].nodes == std::vector<plan::NodeName>{{"spare"}});
  CHECK(snapshot->find_matrix({"shore"})->agreement == rack::Agreement::agreed);
}

TEST_CASE("a matrix that dies in the middle takes all back") {
  Hall hall;
  hall.dies_after = 3;
  hall.dying = shore_uid;
  const auto answer = hall.go("finale");
  CHECK(answer.outcome == Outcome::rolled_back);
  CHECK(hall.nodes.at(3).force == plan::NodeSettings{away});
  CHECK(hall.core.snapshot()->segment.text == "speeches");
}

TEST_CASE("behind a unit without supply a switch takes no antenna to be fed by it") {
  Hall hall;
  for (auto& [bits, node] : hall.nodes) node.powered = false;
  for (const auto& [bits, node] : hall.nodes) hall.report(bits);
  CHECK(hall.go("finale").outcome == Outcome::done);
  // Nobody moves on the way; all are told, at its end.
  CHECK(hall.ways.front().steps.empty());
  CHECK(hall.nodes.at(3).force.amplifier()->centre == rf::Frequency::megahertz(568));
  CHECK(hall.nodes.at(shore_uid).force.matrix()->outputs ==
        std::vector<plan::Inputs>{{3}, {2}, {}});
}

TEST_CASE("a switch to where a receiver would have no antenna is refused, and moves nothing") {
  auto plan = moving_routes();
  plan.segments[1].matrices[{"shore"}].routes = {{1, {}}, {2, {}}};
  Hall hall{plan};
  const auto answer = hall.go("finale");
  CHECK(answer.outcome == Outcome::refused);
  CHECK(hall.order.empty());
  CHECK(std::ranges::any_of(answer.verdict.findings, [](const rack::Finding& finding) {
    return finding.rule == rack::Rule::receiver_without_antenna;
  }));
}

TEST_CASE("routes that drifted are brought back with what else has") {
  Hall hall;
  hall.nodes.at(shore_uid).force = shore_set({{2}, {1}, {}});
  hall.report(shore_uid);
  hall.nodes.at(2).force = slide_at(2, 518);
  hall.report(2);
  hall.on(rack::RestoreRequested{
      .request = 7, .waiver = rack::Waiver{"ana", "as it was"}, .who = "ana"});
  CHECK(hall.answers.back().outcome == Outcome::done);
  CHECK(hall.nodes.at(shore_uid).force.matrix()->outputs ==
        std::vector<plan::Inputs>{{1}, {2}, {}});
  CHECK(hall.nodes.at(2).force == plan::NodeSettings{home});
}

TEST_CASE("an open cable is one alarm with its cause, and what follows stands under it") {
  Hall hall;
  auto& shore = hall.nodes.at(shore_uid);
  shore.inputs.assign(4, {.measures_current = true, .measures_level = true, .supply_ma = 80});
  shore.inputs[0].supply_ma = 0;
  hall.nodes.at(1).powered = false;
  hall.report(1);
  hall.report(shore_uid);
  const auto* cause = hall.alarm(rack::AlarmKind::not_fed, "left");
  REQUIRE(cause != nullptr);
  CHECK(cause->sentence ==
        "Input 1 of shore gives no current: its cable is open, or left unplugged.");
  const auto* passive = hall.alarm(rack::AlarmKind::passive, "left");
  REQUIRE(passive != nullptr);
  CHECK(passive->cause == cause->id);
  CHECK_FALSE(cause->cause);
  shore.inputs[0].supply_ma = 80;
  hall.nodes.at(1).powered = true;
  hall.report(shore_uid);
  hall.report(1);
  CHECK(hall.alarms().empty());
}

TEST_CASE("a short, and a supply that is switched off, are told as what they are") {
  Hall hall;
  auto& shore = hall.nodes.at(shore_uid);
  hall.nodes.at(1).powered = false;
  SUBCASE("a short") {
    shore.inputs.assign(4, {.measures_current = true, .measures_level = true, .supply_ma = 80});
    shore.inputs[0].limited = true;
    hall.report(shore_uid);
    CHECK(hall.alarm(rack::AlarmKind::not_fed, "left")->sentence ==
          "Input 1 of shore has let go, since more current was drawn than it gives: a short in the "
          "cable of left, or in left itself.");
  }
  SUBCASE("off, by hand") {
    shore.force.matrix()->inputs[0].supply_mv = 0;
    hall.report(shore_uid);
    hall.report(1);
    CHECK(hall.alarm(rack::AlarmKind::not_fed, "left")->sentence ==
          "Input 1 of shore feeds nothing, since its supply is off, and left is to be heard.");
  }
  SUBCASE("the unit itself has no supply: one alarm, and the antennas' under it") {
    shore.powered = false;
    hall.report(shore_uid);
    hall.report(1);
    const auto* unit = hall.alarm(rack::AlarmKind::passive, "shore");
    REQUIRE(unit != nullptr);
    CHECK(hall.alarm(rack::AlarmKind::passive, "left")->cause == unit->id);
    CHECK(hall.alarm(rack::AlarmKind::not_fed, "left") == nullptr);
  }
}

TEST_CASE("what a matrix feeds is judged by what its antennas take") {
  auto plan = moving_routes();
  Hall hall{plan};
  const auto verdict = [&hall](const plan::MatrixPatch& patch) {
    hall.on(rack::RoutesRequested{.request = ++hall.request,
                                  .node = {"shore"},
                                  .patch = patch,
                                  .dry_run = true,
                                  .who = "ana"});
    std::vector<std::string> sentences;
    for (const auto& finding : hall.answers.back().verdict.findings)
      sentences.push_back(std::string{rack::name_of(finding.severity)} + ' ' +
                          std::string{rack::name_of(finding.rule)} + ": " + finding.sentence);
    return sentences;
  };
  using Sentences = std::vector<std::string>;
  CHECK(verdict({}) == Sentences{});
  CHECK(verdict({.supplies_mv = {{1, 0}}}) ==
        Sentences{"caution antenna-unsupplied: left is to be heard and gets no supply from input 1 "
                  "of shore."});
  auto low = *plan.nodes[0].datasheet;
  low.supply->lowest_mv = 10'000;
  for (auto& node : plan.nodes) node.datasheet = std::make_shared<const plan::Datasheet>(low);
  hall.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
  CHECK(verdict({.supplies_mv = {{1, 9'000}}}) ==
        Sentences{"refuse supply-voltage: left is fed 9 V by input 1 of shore; a slider takes 10 V "
                  "to 13 V."});
  low.supply->ma = 250;
  for (auto& node : plan.nodes) node.datasheet = std::make_shared<const plan::Datasheet>(low);
  hall.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
  CHECK(verdict({.trims = {{1, rf::Gain::decibels(-1)}}}) ==
        Sentences{"refuse supply-current: What shore feeds may draw 750 mA together; it gives at "
                  "most 600 mA."});
  low.supply->ma = 190;
  for (auto& node : plan.nodes) node.datasheet = std::make_shared<const plan::Datasheet>(low);
  hall.on(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
  CHECK(
      verdict({.trims = {{1, rf::Gain::decibels(-1)}}}) ==
      Sentences{"note supply-current: What shore feeds may draw 570 mA together; it gives at most "
                "600 mA: a short at one input, which takes 300 mA until it lets go, would take "
                "the others down with it."});
}

TEST_CASE("an input that is left open in a sum, and one antenna on both branches, are cautions") {
  auto plan = moving_routes();
  plan.receivers[0].branches.push_back({});
  plan.receivers[0].branches[1].from = plan::OutputOf{{"shore"}, 2};
  for (auto& segment : plan.segments) segment.settings[{"right"}] = to(0, 568);
  Hall hall{plan};
  hall.nodes.at(2).force = slide_at(0, 568);
  hall.report(2);
  hall.on(rack::RoutesRequested{.request = 1,
                                .node = {"shore"},
                                .patch = {.routes = {{1, {1, 4}}, {2, {1}}}},
                                .dry_run = true,
                                .who = "ana"});
  std::vector<std::string> sentences;
  for (const auto& finding : hall.answers.back().verdict.findings)
    sentences.push_back(finding.sentence);
  CHECK(sentences ==
        std::vector<std::string>{
            "Output 1 sums 1+4, and nothing ends at 4: an open input costs the others "
            "3.5 dB.",
            "Both branches of vocals hear left: one antenna on both is no diversity."});
}
