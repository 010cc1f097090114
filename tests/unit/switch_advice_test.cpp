// SPDX-License-Identifier: Apache-2.0
// What a switch that has ended leaves to be done: told as things are now, not as they were.
#include <doctest/doctest.h>

#include <algorithm>

#include "tests/support/hall.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rack::Outcome;
using rack::SwitchStage;
using rack::Whereabouts;

namespace {

struct Aftermath : Hall {
  explicit Aftermath(const plan::RackPlan& plan = moving_rack(3))
      : Hall{plan, {.epoch = {1}}, all_at_home()} {
    meet();
  }
  // left and right are at finale and silent, spare never moved.
  void get_stuck() {
    planner = [](const rack::WayQuestion& question) {
      rack::Way way;
      for (const auto& node : question.nodes)
        if (node.target && node.present != node.target)
          way.steps.push_back(
              {{{node.node, rack::MovePart::whole, node.present, *node.target}}, {}, {}});
      return way;
    };
    go("finale");
    REQUIRE(run_until([&] { return applied.size() == 2; }));
    fall_silent(2);
    fall_silent(1);
    run();
    REQUIRE(stage() == SwitchStage::stuck);
  }
  void fall_silent(std::uint64_t bits) {
    nodes.at(bits).silent = true;
    give(rack::NodeFellSilent{uid(bits)});
  }
  void answer_again(std::uint64_t bits) {
    nodes.at(bits).silent = false;
    give(rack::NodeReported{uid(bits), nodes.at(bits).reading()});
    run();
  }
  void lock(bool locked = true) {
    REQUIRE(ask(rack::LockRequested{.locked = locked}).outcome == Outcome::done);
  }
  void start_again() {
    kill_and_restart();
    meet();
    run();
    REQUIRE(switching());
  }
  const rack::SwitchedNode& told(std::size_t place) const { return *switching()->nodes.at(place); }
};

plan::RackPlan told_again_on_return(plan::RackPlan plan) {
  for (auto& node : plan.nodes) node.on_return = plan::OnReturn::reapply;
  return plan;
}

plan::RackPlan with_cue_to_finale() {
  auto plan = moving_rack(3);
  plan.running_order.cues = {{{"last"}, {"finale"}, plan::ByHand{}}};
  return plan;
}

}  // namespace

TEST_CASE("where the nodes of a stuck switch are follows what they show") {
  Aftermath hall;
  hall.get_stuck();
  CHECK(hall.told(1).where == Whereabouts::unknown);
  CHECK(hall.told(1).reason == "did not answer (timed out); it had its old or its new settings.");
  CHECK(hall.told(1).what_to_do ==
        "See to its line and its supply; when it answers again, go to speeches or to finale.");
  hall.answer_again(2);
  CHECK(hall.told(1).where == Whereabouts::target);
  CHECK(hall.told(1).what_to_do == "Then go to speeches or to finale.");
  CHECK(hall.switching()->reason.find("right has the settings of finale") != std::string::npos);
  // Another, turned by hand meanwhile, and one that is gone now.
  hall.nodes.at(1).force = slide_at(7, 500);
  hall.answer_again(1);
  CHECK(hall.told(0).where == Whereabouts::elsewhere);
  hall.fall_silent(3);
  CHECK(hall.told(2).where == Whereabouts::unknown);
  // In the journal it ended once.
  std::size_t ends = 0;
  for (const auto& row : hall.journal) ends += row.fate.starts_with("stuck");
  CHECK(ends == 1);
}

TEST_CASE("a stuck switch is told anew behind one that is dropped before it began") {
  Aftermath hall;
  hall.get_stuck();
  const auto stuck = hall.switching()->id;
  hall.answer_again(1);
  hall.answer_again(2);
  hall.planner = [&](const rack::WayQuestion&) -> std::optional<rack::Way> {
    REQUIRE(hall.switching()->id != stuck);
    hall.fall_silent(2);
    return std::nullopt;  // and so it does not begin
  };
  hall.go("speeches");
  hall.run();
  REQUIRE(hall.switching()->id == stuck);
  CHECK(hall.told(0).where == Whereabouts::target);
  CHECK(hall.told(1).where == Whereabouts::unknown);
}

TEST_CASE("what to do about a stuck switch is what is not refused") {
  SUBCASE("unlocked") {
    Aftermath hall{with_cue_to_finale()};
    hall.get_stuck();
    CHECK(hall.told(2).what_to_do == "Then go to speeches or to finale.");
  }
  SUBCASE("locked, with a cue that may be armed") {
    Aftermath hall{with_cue_to_finale()};
    hall.get_stuck();
    hall.lock();
    CHECK(hall.ask(rack::SwitchRequested{.segment = plan::SegmentName{"finale"}}).outcome ==
          Outcome::refused);
    CHECK(hall.told(2).what_to_do ==
          "Then unlock the rack, or arm the cue that leads there, and go to speeches or to "
          "finale.");
    hall.give(rack::ArmRequested{.request = ++hall.last_request, .cue = plan::CueName{"last"}});
    hall.run();
    CHECK(hall.told(2).what_to_do == "Then go to finale, which is armed.");
    hall.lock(false);
    CHECK(hall.told(2).what_to_do == "Then go to speeches or to finale.");
  }
  SUBCASE("locked, without any cue") {
    Aftermath hall;
    hall.get_stuck();
    hall.lock();
    CHECK(hall.told(2).what_to_do == "Then unlock the rack, and go to speeches or to finale.");
  }
}

TEST_CASE("a node of a stuck switch that is told again on return gets what was wanted before") {
  Aftermath hall{told_again_on_return(moving_rack(3))};
  hall.get_stuck();
  CHECK(hall.told(1).what_to_do ==
        "See to its line and its supply; when it answers again it is sent what is wanted of it by "
        "itself (on return: reapply), which this switch has not changed. Then go to speeches or to "
        "finale.");
  hall.answer_again(2);
  CHECK(hall.nodes.at(2).force == slide_at(0, 518));
  CHECK(hall.told(1).where == Whereabouts::before);
  CHECK(hall.told(1).what_to_do == "Then go to speeches or to finale.");
}

TEST_CASE("of a node that a switch went on without, nothing is said once it shows what is wanted") {
  auto plan = moving_rack(3);
  plan.segments[1].if_a_node_fails = plan::IfNodeFails::go_on;
  SUBCASE("when somebody sends it that") {
    Aftermath hall{plan};
    hall.fall_silent(3);
    hall.go("finale");
    hall.run();
    REQUIRE(hall.stage() == SwitchStage::done);
    hall.answer_again(3);
    CHECK(hall.told(2).where == Whereabouts::before);
    CHECK(hall.told(2).what_to_do == "Then go to speeches or to finale.");
    hall.go("finale");
    hall.run();
    CHECK(hall.nodes.at(3).force == slide_at(3, 618));
  }
  SUBCASE("when it is told by itself on return") {
    Aftermath hall{told_again_on_return(plan)};
    hall.fall_silent(3);
    hall.go("finale");
    hall.run();
    REQUIRE(hall.stage() == SwitchStage::done);
    CHECK(hall.told(2).what_to_do ==
          "See to its line and its supply; when it answers again it is sent what is wanted of it "
          "by itself (on return: reapply).");
    hall.answer_again(3);
    CHECK(hall.nodes.at(3).force == slide_at(3, 618));
    CHECK(hall.told(2).where == Whereabouts::target);
    CHECK(hall.told(2).what_to_do.empty());
    // What becomes of the others later is nothing of this switch.
    hall.nodes.at(1).force = slide_at(7, 500);
    hall.answer_again(1);
    CHECK(hall.told(0).where == Whereabouts::target);
  }
}

TEST_CASE("nobody is told to go to a segment that is in the files no more") {
  Aftermath hall;
  hall.get_stuck();
  hall.answer_again(1);
  hall.answer_again(2);
  REQUIRE(hall.told(1).what_to_do == "Then go to speeches or to finale.");
  auto plan = moving_rack(3);
  std::erase_if(plan.segments, [](const auto& segment) { return segment.name.text == "finale"; });
  hall.give(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "reload"});
  hall.run();
  // It has ended as it has, and where the nodes were stays told.
  REQUIRE(hall.stage() == SwitchStage::stuck);
  REQUIRE(hall.switching()->nodes.size() == 3);
  CHECK(hall.told(1).where == Whereabouts::target);
  for (std::size_t place = 0; place < 3; ++place) CHECK(hall.told(place).what_to_do.empty());
}

TEST_CASE("nothing is to be done about what was taken over as it is") {
  auto plan = moving_rack(3);
  plan.segments[1].if_a_node_fails = plan::IfNodeFails::go_on;
  Aftermath hall{plan};
  hall.fall_silent(3);
  hall.go("finale");
  hall.run();
  REQUIRE(hall.stage() == SwitchStage::done);
  REQUIRE_FALSE(hall.told(2).what_to_do.empty());
  for (const std::uint64_t node : {1, 2})
    hall.give(rack::OtherSpeaks{{"bus"}, uid(node), {9}, std::chrono::milliseconds{1}, {1}});
  hall.run();
  REQUIRE(hall.snapshot()->control == rack::Control::watching);
  CHECK(hall.ask(rack::TakeOverRequested{}).outcome == Outcome::done);
  REQUIRE(hall.snapshot()->control == rack::Control::ours);
  REQUIRE(hall.switching());
  CHECK(hall.told(2).what_to_do.empty());
}

TEST_CASE("a switch that a full disk keeps from beginning leaves an older stuck one to be told") {
  Aftermath hall;
  hall.get_stuck();
  hall.answer_again(1);
  hall.answer_again(2);
  hall.disk_full = true;
  CHECK(hall.ask(rack::SwitchRequested{.segment = plan::SegmentName{"finale"}}).outcome ==
        Outcome::not_recorded);
  REQUIRE(hall.stage() == SwitchStage::stuck);
  hall.disk_full = false;
  hall.wait(std::chrono::seconds{2});
  hall.run();
  hall.start_again();
  CHECK(hall.stage() == SwitchStage::stuck);
  CHECK(hall.told(1).where == Whereabouts::target);
  CHECK(hall.applied.size() == 2);
}

TEST_CASE("a later switch that comes to nothing leaves an older stuck one to be told") {
  Aftermath hall;
  hall.get_stuck();
  hall.answer_again(1);
  hall.answer_again(2);
  hall.nodes.at(3).refuses_to_stage = true;
  CHECK(hall.ask(rack::SwitchRequested{.segment = plan::SegmentName{"finale"}}).outcome ==
        Outcome::rolled_back);
  REQUIRE(hall.stage() == SwitchStage::rolled_back);
  const auto& alarms = *hall.snapshot()->alarms;
  CHECK(std::ranges::any_of(alarms, [](const auto& alarm) {
    return alarm.sentence.ends_with(" The switch to finale before it is still stuck.");
  }));
  hall.start_again();
  CHECK(hall.stage() == SwitchStage::stuck);
  CHECK(hall.told(1).where == Whereabouts::target);
}
