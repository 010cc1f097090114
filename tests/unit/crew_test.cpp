// SPDX-License-Identifier: Apache-2.0
// Ticks on crew sheets: who may, what is kept, and when a sheet begins anew.
#include <doctest/doctest.h>

#include "tests/support/hall.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace std::chrono_literals;
using rack::Outcome;

namespace {

plan::RackPlan show() {
  auto rack = moving_rack(3);
  auto encore = rack.segments[1];
  encore.name = {"encore"};
  encore.carriers = {microphone("voice-4", 621.0, "vocals")};
  rack.segments.push_back(encore);
  rack.running_order.cues = {{{"doors"}, {"speeches"}, plan::ByHand{}},
                             {{"end"}, {"finale"}, plan::ByHand{}}};
  return rack;
}

struct Evening : Hall {
  explicit Evening(const plan::RackPlan& plan = show())
      : Hall{plan, {.epoch = {1}}, all_at_home()} {
    meet();
  }
  rack::Answer tick(const std::string& left, const std::string& entered,
                    std::vector<std::string> rows, bool done = true, std::string who = "bo") {
    const auto request = ++last_request;
    give(rack::TickRequested{request, {left}, {entered}, std::move(rows), done, std::move(who)});
    return answers.at(request).back();
  }
  // "speeches finale voice-1.off bo"
  std::vector<std::string> ticks() const {
    std::vector<std::string> all;
    for (const auto& one : *snapshot()->ticks)
      all.push_back(one.left + ' ' + one.entered + ' ' + one.row + ' ' + one.ticked.who);
    return all;
  }
  std::vector<std::string> of_crew() const {
    std::vector<std::string> all;
    for (const auto& entry : journal)
      if (entry.kind == rack::JournalKind::crew) all.push_back(entry.who + ": " + entry.what);
    return all;
  }
  void arm(const std::string& cue) {
    rack::ArmRequested event;
    event.request = ++last_request;
    event.cue = plan::CueName{cue};
    event.who = "ana";
    give(event);
  }
};

using Words = std::vector<std::string>;

}  // namespace

TEST_CASE("a tick says who and when, is seen by all, and stands in the journal") {
  Evening hall;
  CHECK(hall.tick("speeches", "finale", {"voice-1.off"}).outcome == Outcome::done);
  CHECK(hall.ticks() == Words{"speeches finale voice-1.off bo"});
  CHECK(hall.snapshot()->ticks->front().ticked.at == hall.now);
  hall.run();
  CHECK(hall.of_crew() == Words{"bo: ticked, speeches → finale: voice-1 off, 510.000 MHz"});

  SUBCASE("whoever ticks it once more changes nothing") {
    hall.wait(1min);
    CHECK(hall.tick("speeches", "finale", {"voice-1.off"}, true, "ana").outcome == Outcome::done);
    hall.run();
    CHECK(hall.ticks() == Words{"speeches finale voice-1.off bo"});
    CHECK(hall.of_crew().size() == 1);
  }
  SUBCASE("it is taken away again, once, and that is written too") {
    CHECK(hall.tick("speeches", "finale", {"voice-1.off"}, false, "ana").outcome == Outcome::done);
    CHECK(hall.tick("speeches", "finale", {"voice-1.off"}, false, "ana").outcome == Outcome::done);
    hall.run();
    CHECK(hall.ticks().empty());
    CHECK(hall.kept.ticks.empty());
    CHECK(hall.of_crew().size() == 2);
    CHECK(hall.of_crew()[1] ==
          "ana: no longer ticked, speeches → finale: voice-1 off, 510.000 MHz");
  }
}

TEST_CASE("several rows are ticked together, or none of them") {
  Evening hall;
  const auto answer = hall.tick("speeches", "finale", {"voice-1.off", "voice-9.off"});
  CHECK(answer.outcome == Outcome::unknown_name);
  CHECK(answer.detail == "There is no row \"voice-9.off\" on the crew sheet of speeches → finale.");
  CHECK(hall.ticks().empty());
  CHECK(hall.tick("speeches", "opera", {"voice-1.off"}).detail ==
        "There is no segment \"opera\" in this show.");
  CHECK(hall.tick("speeches", "finale", {"voice-2.off", "voice-1.off", "voice-2.off"}).outcome ==
        Outcome::done);
  CHECK(hall.ticks().size() == 2);
}

TEST_CASE("a lock does not hold ticks, since they move nothing") {
  Evening hall;
  hall.give(rack::LockRequested{++hall.last_request, true, "ana", "doors"});
  hall.run();
  REQUIRE(hall.snapshot()->lock);
  CHECK(hall.tick("speeches", "finale", {"voice-1.off"}).outcome == Outcome::done);
  CHECK(hall.ticks().size() == 1);
}

TEST_CASE("ticks outlive the daemon as long as their rows say the same") {
  Evening hall;
  hall.tick("speeches", "finale", {"voice-1.off", "voice-2.off"});
  hall.run();
  SUBCASE("with the same files") {
    hall.kill_and_restart();
    CHECK(hall.ticks() ==
          Words{"speeches finale voice-1.off bo", "speeches finale voice-2.off bo"});
  }
  SUBCASE("with files in which one is elsewhere") {
    auto other = show();
    other.segments[0].carriers[0].frequency = rf::Frequency::megahertz(511);
    hall.kill_and_restart(other);
    CHECK(hall.ticks() == Words{"speeches finale voice-2.off bo"});
    hall.wait(2s);
    hall.run();
    CHECK(hall.kept.ticks.size() == 1);
  }
  SUBCASE("with files that have no such segment") {
    auto other = show();
    other.segments.erase(other.segments.begin() + 1);
    other.running_order.cues.pop_back();
    hall.kill_and_restart(other);
    CHECK(hall.ticks().empty());
  }
}

TEST_CASE("another plan begins the rows anew that say something else by it") {
  Evening hall;
  hall.tick("speeches", "finale", {"voice-1.off", "voice-2.off"});
  auto other = show();
  other.segments[0].carriers[1].held_by = "Ada";
  hall.give(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(other), "ana"});
  hall.run();
  CHECK(hall.ticks() == Words{"speeches finale voice-1.off bo"});
  CHECK(hall.kept.ticks.size() == 1);
}

TEST_CASE("when a switch is done its sheet stays for what comes after, until the next is done") {
  Evening hall;
  hall.tick("speeches", "finale", {"voice-1.off"});
  hall.tick("speeches", "encore", {"voice-1.off"});  // instead
  hall.tick("encore", "finale", {"voice-3.on"});     // another way there
  hall.tick("finale", "encore", {"voice-3.off"});    // prepared
  hall.go("finale");
  hall.run();
  REQUIRE(hall.stage() == rack::SwitchStage::done);
  CHECK(hall.ticks() == Words{"speeches finale voice-1.off bo", "finale encore voice-3.off bo"});
  hall.tick("speeches", "finale", {"voice-3.on"}, true, "ana");
  hall.go("encore");
  hall.run();
  REQUIRE(hall.snapshot()->segment.text == "encore");
  CHECK(hall.ticks() == Words{"finale encore voice-3.off bo"});
  CHECK(hall.kept.ticks == *hall.snapshot()->ticks);
  // And so it does where somebody chooses a segment by hand.
  hall.give(rack::SegmentRequested{++hall.last_request, {"speeches"}, "ana", ""});
  hall.run();
  hall.give(rack::SegmentRequested{++hall.last_request, {"finale"}, "ana", ""});
  hall.run();
  CHECK(hall.ticks().empty());
  CHECK(hall.kept.ticks.empty());
}

TEST_CASE("a switch that is rolled back, and one to where the rack is, leave the ticks") {
  Evening hall;
  hall.tick("speeches", "finale", {"voice-1.off"});
  hall.nodes[3].refuses_to_stage = true;
  hall.go("finale");
  hall.run();
  REQUIRE(hall.stage() == rack::SwitchStage::rolled_back);
  CHECK(hall.ticks().size() == 1);
  hall.nodes[3].refuses_to_stage = false;
  hall.go("speeches");
  hall.run();
  CHECK(hall.ticks().size() == 1);
}

TEST_CASE("a switch goes though something is not ticked, and says so; the journal too") {
  Evening hall;
  hall.tick("speeches", "finale", {"voice-1.off"});
  const auto request = hall.go("finale");
  hall.run();
  const std::string open = "1 of 2 to do before it is not ticked: voice-2 off, 525.000 MHz.";
  REQUIRE(hall.answers.at(request).back().outcome == Outcome::done);
  CHECK(hall.answers.at(request).front().switching->not_ticked == open);
  CHECK(hall.answers.at(request).back().switching->not_ticked == open);
  const auto intent = std::ranges::find_if(hall.journal, [&](const rack::JournalEntry& entry) {
    return entry.kind == rack::JournalKind::switching && entry.what.ends_with(open);
  });
  CHECK(intent != hall.journal.end());
}

TEST_CASE("what is armed says what is not ticked, as it changes") {
  Evening hall;
  hall.arm("end");
  hall.run();
  const auto armed = hall.answers.at(hall.last_request).back().armed;
  REQUIRE(armed);
  CHECK(armed->not_ticked ==
        "2 of 2 to do before it are not ticked: voice-1 off, 510.000 MHz; voice-2 off, 525.000 "
        "MHz.");
  hall.tick("speeches", "finale", {"voice-1.off", "voice-2.off"});
  CHECK(hall.snapshot()->order.armed->not_ticked.empty());
  hall.tick("speeches", "finale", {"voice-2.off"}, false);
  CHECK(hall.snapshot()->order.armed->not_ticked ==
        "1 of 2 to do before it is not ticked: voice-2 off, 525.000 MHz.");
  hall.tick("speeches", "encore", {"voice-1.off"}, true);  // of another sheet
  CHECK(hall.snapshot()->order.armed->not_ticked.starts_with("1 of 2"));
}

TEST_CASE("a tick that the disk does not take is kept when it does, as it is by then") {
  Evening hall;
  hall.run();
  hall.disk_full = true;
  CHECK(hall.tick("speeches", "finale", {"voice-1.off", "voice-2.off"}).outcome == Outcome::done);
  CHECK(hall.tick("speeches", "finale", {"voice-2.off"}, false).outcome == Outcome::done);
  hall.run();
  CHECK(hall.kept.ticks.empty());
  hall.disk_full = false;
  hall.wait(2s);
  hall.run();
  REQUIRE(hall.kept.ticks.size() == 1);
  CHECK(hall.kept.ticks[0].row == "voice-1.off");
  CHECK(hall.of_crew().size() == 3);
}
