// SPDX-License-Identifier: Apache-2.0
// Nodes that show what their datasheet cannot do: of another type than the file says, with bad
// memory, or lying. Nothing that looks at them may end, and nobody may rely on them.
#include <doctest/doctest.h>

#include <algorithm>
#include <limits>

#include "daemon/rack/core/core.hpp"
#include "daemon/rack/outlook/explain.hpp"
#include "daemon/rack/outlook/preview.hpp"
#include "daemon/rack/outlook/recommend.hpp"
#include "daemon/rack/outlook/spectrum.hpp"
#include "daemon/rack/way/members.hpp"
#include "tests/support/hall.hpp"
#include "tests/support/physics_rack.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

struct Impossible {
  const char* what;
  plan::Settings settings;
};

std::vector<Impossible> impossible_settings() {
  using rf::Frequency;
  using rf::Gain;
  const auto gain = Gain::decibels(3);
  const auto centre = Frequency::megahertz(520);
  return {
      {"a centre of 0 for a filter that slides", {gain, 0, {}, true, ""}},
      {"a centre below half the width", {gain, 0, Frequency::megahertz(19), true, ""}},
      {"the highest centre of the wire", {gain, 0, Frequency::hertz(4'294'967'295), true, ""}},
      {"a filter that is not there", {gain, 255, centre, true, ""}},
      {"the highest gain of the wire", {Gain::centidecibels(32'767), 0, centre, true, ""}},
      {"the lowest gain of the wire", {Gain::centidecibels(-32'768), 0, centre, true, ""}},
      {"the same without power", {Gain::centidecibels(32'767), 255, {}, false, ""}},
  };
}

// Two nodes on one combiner, and two more; a second segment moves them all.
plan::RackPlan shared_combiner() {
  auto plan = physics_rack(4, 12, 3);
  plan.receivers[0].branches = {{{plan.nodes[0].name, plan.nodes[1].name}}};
  auto moved = plan.segments.front();
  moved.name = {"moved"};
  moved.carriers.clear();
  for (const auto& node : plan.nodes)
    moved.settings[node.name] = {.gain = rf::Gain::decibels(3),
                                 .filter = "slide-40",
                                 .centre = rf::Frequency::megahertz(520),
                                 .power = true};
  plan.segments.push_back(std::move(moved));
  return plan;
}

}  // namespace

TEST_CASE("settings that no datasheet has end neither preview nor go nor any look ahead") {
  const auto plan = shared_combiner();
  for (const auto& [what, settings] : impossible_settings()) {
    CAPTURE(what);
    std::map<std::uint64_t, HallNode> nodes;
    for (const auto& node : plan.nodes)
      nodes[node.uid.bits()].force = {rf::Gain::decibels(6), 0, rf::Frequency::megahertz(500), true,
                                      ""};
    nodes[plan.nodes[1].uid.bits()].force = settings;
    Hall hall{plan, {.epoch = {1}}, nodes};
    hall.meet();
    const auto snapshot = hall.snapshot();
    const rack::SettingsOf shown = [&](const plan::NodeName& name) {
      return plan::amplifier_of(rack::passive_without_supply(snapshot->find(name)->seen));
    };
    for (const auto& segment : plan.segments) {
      (void)rack::preview(*snapshot, segment.name);
      for (const auto& node : plan.nodes)
        CHECK(rack::explain(plan, segment, node, *shown(node.name), shown, {}).chains.empty() ==
              segment.carriers.empty());
      CHECK(rack::spectrum_of(plan, segment, shown, rack::span_of_show(plan)).size() == 4);
    }
    // Asked before anything was read: every other node counts with settings that are all zero.
    const auto zero = [](const plan::NodeName&) { return std::optional{plan::Settings{}}; };
    const rack::Surroundings around{plan, plan.segments.front(), [&](const plan::NodeName& name) {
                                      return rack::PossibleSettings{*zero(name)};
                                    }};
    CHECK(rack::recommend(around, plan.nodes[0], {}).settings.power);
    // It is told where to go like any other, and goes there.
    hall.go("moved", rack::Waiver{"ana", "a test"});
    hall.run();
    CHECK(hall.nodes.at(plan.nodes[1].uid.bits()).force.centre == rf::Frequency::megahertz(520));
  }
}

TEST_CASE("a node that shows what its type cannot do is not relied on for a receiver") {
  const auto plan = small_rack();
  const auto& speeches = plan.segments.front();
  const auto with_right_at = [&](const plan::Settings& right) {
    const rack::Surroundings around{plan, speeches, [&](const plan::NodeName& name) {
                                      return name.text == "right" ? rack::PossibleSettings{right}
                                                                  : rack::PossibleSettings{};
                                    }};
    const auto dark = slide_at(3, 700);  // passes neither microphone
    const auto verdict = rack::check(around, plan.nodes[0], dark);
    return std::ranges::find(verdict.findings, rack::Rule::diversity_dark, &rack::Finding::rule) !=
           verdict.findings.end();
  };
  CHECK_FALSE(with_right_at(slide_at(0, 518)));
  CHECK(with_right_at(slide_at(327, 518)));
}

TEST_CASE("a node that says it obeys an epoch out of reach is a fault of that node alone") {
  Hall hall{small_rack(), {.epoch = {1}}, {{1, {slide_at(0, 518)}}}};
  constexpr protocol::Epoch out_of_reach{std::numeric_limits<std::uint32_t>::max() - 1};
  const auto alarms = [&] {
    std::vector<std::string> names;
    for (const auto& alarm : *hall.snapshot()->alarms)
      if (alarm.active())
        names.push_back(std::string{rack::name_of(alarm.kind)} + ' ' + alarm.subject);
    return names;
  };
  auto reading = reading_of(slide_at(0, 518));
  reading.epoch = out_of_reach;
  hall.give(rack::NodeReported{uid(1), reading});
  hall.run();
  CHECK(alarms() == std::vector<std::string>{"epoch-out-of-reach left"});

  // A take-over does not follow it.
  rack::TakeOverRequested over;
  over.request = 7;
  over.who = "ana";
  over.why = "the other rack is gone";
  hall.give(over);
  hall.run();
  CHECK(hall.snapshot()->epoch.value < out_of_reach.value / 2);

  rack::ReclaimRequested reclaim;
  reclaim.request = 8;
  reclaim.node = {"left"};
  reclaim.who = "ana";
  reclaim.why = "its memory was mended";
  hall.give(reclaim);
  hall.run();
  CHECK(hall.answers.at(8).back().outcome == rack::Outcome::done);
  CHECK(alarms().empty());

  SUBCASE("there is nothing to reclaim of one that obeys us") {
    reclaim.request = 9;
    hall.give(reclaim);
    hall.run();
    CHECK(hall.answers.at(9).back().outcome == rack::Outcome::refused);
  }
  SUBCASE("one that obeys another controller is taken over, not reclaimed") {
    reading.epoch = {hall.snapshot()->epoch.value + 5};
    hall.give(rack::NodeReported{uid(1), reading});
    reclaim.request = 9;
    hall.give(reclaim);
    hall.run();
    CHECK(hall.answers.at(9).back().outcome == rack::Outcome::refused);
    CHECK(alarms() == std::vector<std::string>{"other-controller left"});
  }
}

TEST_CASE("a node that babbles is named until it is calm") {
  Hall hall{small_rack()};
  const auto active = [&] {
    return std::ranges::count_if(*hall.snapshot()->alarms, [](const rack::Alarm& alarm) {
      return alarm.kind == rack::AlarmKind::babbling && alarm.subject == "left" && alarm.active();
    });
  };
  hall.give(rack::NodeBabbles{uid(1), true});
  hall.give(rack::NodeBabbles{uid(1), true});
  hall.run();
  CHECK(active() == 1);
  hall.give(rack::NodeBabbles{uid(1), false});
  hall.run();
  CHECK(active() == 0);
}
