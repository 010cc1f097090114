// SPDX-License-Identifier: Apache-2.0
// The running order: who may trigger which cue, when, and what a lock and an arming make of it.
#include <doctest/doctest.h>

#include "tests/support/hall.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace std::chrono_literals;
using rack::Outcome;
using rack::SwitchStage;

namespace {

// 2020-01-01 at noon, UTC.
constexpr rack::TimePoint noon =
    std::chrono::sys_days{std::chrono::year{2020} / 1 / 1} + std::chrono::hours{12};

// speeches by hand, finale at 12:30, encore 90 s after the finale, home when a message says so.
plan::RackPlan show() {
  auto rack = small_rack();
  rack.segments.push_back(rack.segments[1]);
  rack.segments[2].name = {"encore"};
  const double centres[] = {518, 618, 616};
  for (std::size_t i = 0; i < 3; ++i)
    for (const auto* name : {"left", "right", "spare"})
      rack.segments[i].settings[{name}] = to(0, centres[i]);
  auto& order = rack.running_order;
  order.cues = {{{"speeches"}, {"speeches"}, plan::ByHand{}},
                {{"finale"}, {"finale"}, plan::AtClock{{12h + 30min, {}}}},
                {{"encore"}, {"encore"}, plan::AfterSegment{{"finale"}, 90s}},
                {{"home"}, {"speeches"}, plan::ByMessage{"curtain"}}};
  order.arming_lasts = 600s;
  return rack;
}

struct Evening : Hall {
  explicit Evening(const plan::RackPlan& plan = show(), rack::TimePoint begin = noon)
      : Hall{plan, {.epoch = {1}}, all_at_home(), begin} {
    meet();
  }
  std::string segment() const { return snapshot()->segment.text; }
  std::string at() const {
    return snapshot()->order.at ? snapshot()->order.at->text : std::string{};
  }
  std::string next() const {
    return snapshot()->order.next ? snapshot()->order.next->text : std::string{};
  }
  std::optional<rack::TimePoint> due() const { return snapshot()->order.due; }
  void pass(std::chrono::microseconds time) {
    wait(time);
    run();
  }
  // To the cue before the clock's.
  void begin() {
    go({});
    run();
  }
  void lock() { REQUIRE(ask(rack::LockRequested{.locked = true}).outcome == Outcome::done); }
  std::vector<std::string> held() const {
    std::vector<std::string> sentences;
    for (const auto& alarm : *snapshot()->alarms)
      if (alarm.kind == rack::AlarmKind::trigger_held && alarm.active())
        sentences.push_back(alarm.sentence);
    return sentences;
  }
};

using Sentences = std::vector<std::string>;

}  // namespace

TEST_CASE("the next cue is the one after where the rack is, and a person may go to it") {
  Evening hall;
  CHECK(hall.at().empty());
  CHECK(hall.next() == "speeches");
  CHECK_FALSE(hall.due());
  hall.begin();
  CHECK(hall.at() == "speeches");
  CHECK(hall.next() == "finale");
  CHECK(hall.kept.cue == "speeches");
}

TEST_CASE("a cue is triggered by the clock once it is next, at its time") {
  Evening hall;
  hall.begin();
  REQUIRE(hall.due() == noon + 30min);
  CHECK(hall.deadline() == noon + 30min);
  hall.pass(29min);
  CHECK(hall.segment() == "speeches");
  hall.pass(1min);
  CHECK(hall.segment() == "finale");
  CHECK(hall.at() == "finale");
  CHECK(hall.switching()->triggered_by == rack::TriggeredBy::clock);
}

TEST_CASE("a cue that is not next has no clock") {
  Evening hall;
  hall.pass(31min);
  CHECK(hall.segment() == "speeches");
  CHECK(hall.at().empty());
  CHECK(hall.held().empty());
}

TEST_CASE("a duration counts from when the switch before was done") {
  Evening hall;
  hall.begin();
  hall.pass(30min);
  REQUIRE(hall.at() == "finale");
  REQUIRE(hall.due() == noon + 30min + 90s);
  hall.pass(89s);
  CHECK(hall.segment() == "finale");
  hall.pass(1s);
  CHECK(hall.segment() == "encore");
  CHECK(hall.switching()->triggered_by == rack::TriggeredBy::duration);
}

TEST_CASE("a message triggers the cue that waits for it, and no other") {
  Evening hall;
  CHECK(hall.ask(rack::MessageReceived{.text = "curtain"}).detail ==
        "The next cue does not wait for the message \"curtain\".");
  hall.begin();
  hall.pass(30min);
  hall.pass(90s);
  REQUIRE(hall.next() == "home");
  CHECK(hall.ask(rack::MessageReceived{.text = "Curtain"}).outcome == Outcome::refused);
  CHECK(hall.ask(rack::MessageReceived{.text = "curtain"}).outcome == Outcome::done);
  CHECK(hall.segment() == "speeches");
  CHECK(hall.at() == "home");  // not the first cue with this segment
  CHECK(hall.next().empty());
  CHECK(hall.ask(rack::SwitchRequested{}).detail == "The running order is over: name a segment.");
}

TEST_CASE("the place in the order and the times since outlive the daemon, an arming does not") {
  Evening hall;
  hall.begin();
  hall.pass(30min);
  hall.ask(rack::ArmRequested{});
  REQUIRE(hall.snapshot()->order.armed);
  hall.now += 20s;
  hall.kill_and_restart();
  hall.meet();
  CHECK(hall.at() == "finale");
  CHECK(hall.due() == noon + 30min + 90s);
  CHECK_FALSE(hall.snapshot()->order.armed);
}

TEST_CASE("what came due while the daemon was away is triggered up to half a minute late") {
  for (const auto late : {20s, 40s}) {
    Evening hall;
    hall.begin();
    hall.now = noon + 30min + late;
    hall.kill_and_restart();
    hall.meet();
    hall.wait(0s);
    hall.run();
    CAPTURE(late.count());
    if (late == 20s) {
      CHECK(hall.segment() == "finale");
    } else {
      CHECK(hall.segment() == "speeches");
      CHECK(hall.due() == noon + 24h + 30min);  // tomorrow's
    }
  }
}

TEST_CASE("a clock that is put forward over a cue does not trigger it, and an alarm says so") {
  Evening hall;
  hall.begin();
  hall.now += 1h;
  hall.give(rack::ClockStepped{1h});
  hall.run();
  CHECK(hall.segment() == "speeches");
  CHECK(hall.held() ==
        Sentences{"The time of cue finale has passed, and nothing moved. Go by hand."});
  hall.ask(rack::SwitchRequested{});
  CHECK(hall.at() == "finale");
  CHECK(hall.held().empty());  // its time is over
}

TEST_CASE("a clock that is put changes no duration and no arming") {
  for (const auto by : {-3h, 3h}) {
    Evening hall;
    hall.begin();
    hall.pass(30min);
    hall.ask(rack::ArmRequested{});
    hall.now += by;
    hall.give(rack::ClockStepped{by});
    hall.run();
    CHECK(hall.due() == hall.now + 90s);
    CHECK(hall.snapshot()->order.armed->until == hall.now + 600s);
    hall.pass(90s);
    CHECK(hall.segment() == "encore");
  }
}

TEST_CASE("a clock that is put back does not trigger a cue twice") {
  auto plan = show();
  plan.segments[1].settings[{"left"}] = to(0, 560);  // refused at its end: the rack stays
  Evening hall{plan};
  hall.begin();
  hall.pass(30min);
  REQUIRE(hall.held().size() == 1);
  const auto questions = hall.questions.size();
  hall.now -= 10min;
  hall.give(rack::ClockStepped{-10min});
  hall.pass(20min);
  CHECK(hall.questions.size() == questions);
}

TEST_CASE("a daily time follows the clock on the wall over daylight saving") {
  // Helsinki, as in the IANA time zone database: UTC+2, and UTC+3 from 2020-03-29 01:00 UTC.
  auto plan = show();
  plan.running_order.zone = {"Europe/Helsinki",
                             {{std::chrono::sys_days{std::chrono::year{2019} / 10 / 27} + 1h, 2h},
                              {std::chrono::sys_days{std::chrono::year{2020} / 3 / 29} + 1h, 3h}}};
  const rack::TimePoint winter = std::chrono::sys_days{std::chrono::year{2020} / 3 / 28} + 8h;
  Evening hall{plan, winter};
  hall.begin();
  CHECK(hall.due() == winter + 2h + 30min);  // 12:30 is 10:30 UTC
  const rack::TimePoint summer = std::chrono::sys_days{std::chrono::year{2020} / 3 / 29} + 8h;
  Evening later{plan, summer};
  later.begin();
  CHECK(later.due() == summer + 1h + 30min);
}

TEST_CASE("a lock holds hands, clocks and messages alike") {
  Evening hall;
  hall.begin();
  hall.lock();
  CHECK(hall.ask(rack::SwitchRequested{.segment = plan::SegmentName{"finale"}}).detail ==
        "The rack is locked for the show. Unlock it, or arm the cue that leads there.");
  hall.pass(30min);
  CHECK(hall.segment() == "speeches");
  CHECK(hall.held() ==
        Sentences{"Cue finale was triggered by clock, and nothing moved. The rack is "
                  "locked for the show. Unlock it, or arm the cue that leads there."});
}

TEST_CASE("an armed cue goes through the lock, once, and only that cue") {
  Evening hall;
  hall.begin();
  hall.lock();
  CHECK(hall.ask(rack::ArmRequested{.cue = plan::CueName{"none"}}).detail ==
        "There is no cue \"none\" in the running order.");
  CHECK(hall.ask(rack::ArmRequested{}).outcome == Outcome::done);
  REQUIRE(hall.snapshot()->order.armed);
  CHECK(hall.snapshot()->order.armed->cue.text == "finale");
  CHECK(hall.ask(rack::SwitchRequested{.segment = plan::SegmentName{"encore"}}).outcome ==
        Outcome::refused);
  CHECK(hall.ask(rack::SwitchRequested{}).outcome == Outcome::done);
  CHECK(hall.segment() == "finale");
  CHECK_FALSE(hall.snapshot()->order.armed);
  CHECK(hall.ask(rack::SwitchRequested{}).outcome == Outcome::refused);
}

TEST_CASE("what waits behind a switch needs its arming still when its turn comes") {
  auto plan = show();
  plan.running_order.second_trigger = plan::SecondTrigger::queue;
  const auto until_its_turn = [](Evening& hall, const auto& meanwhile) {
    hall.begin();
    REQUIRE(hall.ask(rack::ArmRequested{.cue = plan::CueName{"encore"}}).outcome == Outcome::done);
    hall.lock();
    hall.go("encore");  // begins, and has not moved anything yet
    hall.give(rack::ArmRequested{.request = ++hall.last_request, .cue = plan::CueName{"finale"}});
    const auto waits = hall.go("finale");
    meanwhile();
    hall.run();
    return waits;
  };
  SUBCASE("it has it") {
    Evening hall{plan};
    const auto waits = until_its_turn(hall, [] {});
    CHECK(hall.answers.at(waits).back().outcome == Outcome::done);
    CHECK(hall.segment() == "finale");
    CHECK_FALSE(hall.snapshot()->order.armed);
  }
  SUBCASE("it was disarmed") {
    Evening hall{plan};
    const auto waits = until_its_turn(
        hall, [&] { hall.give(rack::DisarmRequested{.request = ++hall.last_request}); });
    CHECK(hall.answers.at(waits).back().outcome == Outcome::refused);
    CHECK(hall.segment() == "encore");
  }
  SUBCASE("another cue was armed, and keeps its arming") {
    Evening hall{plan};
    const auto waits = until_its_turn(hall, [&] {
      hall.give(rack::ArmRequested{.request = ++hall.last_request, .cue = plan::CueName{"home"}});
    });
    CHECK(hall.answers.at(waits).back().outcome == Outcome::refused);
    REQUIRE(hall.snapshot()->order.armed);
    CHECK(hall.snapshot()->order.armed->cue.text == "home");
  }
  SUBCASE("another that waited has used it up") {
    Evening hall{plan};
    rack::RequestId second = 0;
    const auto first = until_its_turn(hall, [&] { second = hall.go("finale"); });
    CHECK(hall.answers.at(first).back().outcome == Outcome::done);
    CHECK(hall.answers.at(second).back().outcome == Outcome::refused);
  }
}

TEST_CASE("while the last switch is stuck no cue triggers itself") {
  auto plan = show();
  plan.running_order.after_restart = plan::AfterRestart::wait;
  Evening hall{plan};
  hall.begin();
  hall.go("encore");
  REQUIRE(hall.run_until([&] { return hall.applied.size() == 2; }));
  hall.kill_and_restart();
  hall.meet();
  REQUIRE(hall.stage() == SwitchStage::stuck);
  hall.pass(30min);
  CHECK(hall.held() ==
        Sentences{"The time of cue finale has come, but the last switch is stuck, and nothing "
                  "moved. Go by hand."});
  CHECK(hall.stage() == SwitchStage::stuck);
  hall.go("finale");
  hall.run();
  CHECK(hall.segment() == "finale");
}

TEST_CASE("nor does one after a restart, until a switch has arrived") {
  Evening hall;
  hall.begin();
  hall.kill_and_restart();
  hall.meet();
  rack::Alarm failed;
  failed.id = 7;
  failed.kind = rack::AlarmKind::switch_failed;
  failed.sentence = "The switch from speeches to finale is stuck.";
  failed.raised = noon;
  SUBCASE("the last one had not") {
    hall.kept.alarms = {failed};
    hall.kept.last_alarm = 7;
    hall.kill_and_restart();
    hall.meet();
    const auto because = "the last switch before the daemon was restarted did not arrive";
    CHECK(hall.snapshot()->order.held_because == because);
    hall.pass(30min);
    CHECK(hall.held() == Sentences{std::string{"The time of cue finale has come, but "} + because +
                                   ", and nothing moved. Go by hand."});
    CHECK(hall.segment() == "speeches");
    hall.go("finale");
    hall.run();
    CHECK(hall.segment() == "finale");
    CHECK(hall.snapshot()->order.held_because.empty());
  }
  SUBCASE("it had") {
    CHECK(hall.snapshot()->order.held_because.empty());
    hall.pass(30min);
    CHECK(hall.segment() == "finale");
  }
}

TEST_CASE("whoever says what is on the air says where in the order the show is") {
  Evening hall;
  REQUIRE(hall.next() == "speeches");  // nobody knows where it is
  CHECK(hall.ask(rack::SegmentRequested{.segment = {"encore"}}).outcome == Outcome::done);
  CHECK(hall.at() == "encore");
  CHECK(hall.next() == "home");
  hall.kill_and_restart();
  hall.meet();
  CHECK(hall.at() == "encore");
}

TEST_CASE("arming again and again asks for one way at a time, and a cue finds its planner free") {
  Evening hall;
  hall.begin();
  const auto ways_waiting = [&] {
    return std::ranges::count_if(hall.under_way, [](const rack::Effect& effect) {
      return std::holds_alternative<rack::PlanWay>(effect);
    });
  };
  std::vector<rack::RequestId> armings;
  for (int i = 0; i < 40; ++i) {
    for (const auto* cue : {"finale", "encore"}) {
      armings.push_back(++hall.last_request);
      hall.give(rack::ArmRequested{.request = armings.back(), .cue = plan::CueName{cue}});
    }
    if (i % 4 == 0) hall.give(rack::DisarmRequested{.request = ++hall.last_request});
  }
  CHECK(ways_waiting() == 1);
  const auto asked = hall.go("finale");
  CHECK(ways_waiting() == 2);
  hall.run();
  CHECK(hall.answers.at(asked).back().outcome == Outcome::done);
  // Whoever armed last is told, and of what is armed now.
  REQUIRE(hall.snapshot()->order.armed);
  REQUIRE(hall.snapshot()->order.armed->prospect);
  for (const auto request : armings) CHECK(hall.answers[request].size() == 1);
}

TEST_CASE("an armed cue whose way cannot be worked out says so, and is looked at again") {
  Evening hall;
  hall.begin();
  hall.planner = [](const rack::WayQuestion&) { return std::nullopt; };
  const auto armed = hall.ask(rack::ArmRequested{});
  CHECK(armed.outcome == Outcome::done);
  CHECK(armed.detail ==
        "Cue finale is armed, and would not go as things are now: its way could not be worked out "
        "(see the log).");
  hall.planner = [](const rack::WayQuestion& question) { return rack::plan_way(question); };
  hall.give(rack::NodeReported{uid(2), reading_of(slide_at(0.5, 518))});
  hall.run();
  REQUIRE(hall.snapshot()->order.armed->prospect);
  CHECK(hall.snapshot()->order.armed->prospect->would_be != Outcome::busy);
}

TEST_CASE("arming answers with what the cue would come to") {
  Evening ready;
  ready.begin();
  const auto fine = ready.ask(rack::ArmRequested{});
  CHECK(fine.outcome == Outcome::done);
  CHECK(fine.detail.empty());
  REQUIRE(fine.armed);
  REQUIRE(fine.armed->prospect);
  CHECK(fine.armed->prospect->good());

  Evening silent;
  silent.begin();
  silent.give(rack::NodeFellSilent{uid(2)});
  silent.run();
  const auto missing = silent.ask(rack::ArmRequested{});
  CHECK(missing.outcome == Outcome::done);
  CHECK(missing.armed->prospect->would_be == Outcome::unreachable);
  CHECK(missing.detail.starts_with("Cue finale is armed, and would not go as things are now: "));

  // A window over a closed lane: somebody has to answer for that, and may do so when arming.
  auto plan = show();
  plan.segments[1].lanes = {lane("mics", plan::LanePurpose::receive, 600, 630),
                            lane("ears", plan::LanePurpose::transmit, 560, 580),
                            lane("tower", plan::LanePurpose::closed, 636, 640, "broadcast")};
  Evening hall{plan};
  hall.begin();
  CHECK(hall.ask(rack::ArmRequested{}).armed->prospect->would_be == Outcome::needs_waiver);
  CHECK(hall.ask(rack::ArmRequested{.waiver = rack::Waiver{"ana", "the tower is off tonight"}})
            .armed->prospect->good());
}

TEST_CASE("what an armed cue would come to is kept up to date, and an alarm tells the turn") {
  Evening hall;
  hall.begin();
  hall.ask(rack::ArmRequested{});
  const auto would_be = [&] { return hall.snapshot()->order.armed->prospect->would_be; };
  CHECK(would_be() == Outcome::done);
  CHECK_FALSE(hall.has_alarm(rack::AlarmKind::cue_blocked));

  hall.give(rack::NodeFellSilent{uid(2)});
  hall.run();
  CHECK(would_be() == Outcome::unreachable);
  CHECK(hall.has_alarm(rack::AlarmKind::cue_blocked));

  hall.give(rack::NodeReported{uid(2), hall.nodes.at(2).reading()});
  hall.run();
  CHECK(would_be() == Outcome::done);
  CHECK_FALSE(hall.has_alarm(rack::AlarmKind::cue_blocked));

  // Disarmed it blocks nothing.
  hall.give(rack::NodeFellSilent{uid(2)});
  hall.run();
  REQUIRE(hall.has_alarm(rack::AlarmKind::cue_blocked));
  hall.ask(rack::DisarmRequested{});
  CHECK_FALSE(hall.has_alarm(rack::AlarmKind::cue_blocked));
}

TEST_CASE("an armed cue goes without a dead node when its time comes") {
  Evening hall;
  hall.begin();
  hall.pass(25min);  // an arming lasts ten
  hall.nodes.at(2).silent = true;
  hall.give(rack::NodeFellSilent{uid(2)});
  hall.run();
  const auto armed = hall.ask(rack::ArmRequested{
      .without = {{"right"}}, .waiver = rack::Waiver{"ana", "left has it"}, .why = "cable torn"});
  CHECK(armed.armed->prospect->good());
  hall.pass(5min);
  CHECK(hall.segment() == "finale");
  CHECK(hall.nodes.at(2).force == slide_at(0, 518));
}

TEST_CASE("whoever arms is answered, whatever becomes of the arming meanwhile") {
  Evening hall;
  hall.begin();
  // Nothing happens in between: the way has not been planned when the second one comes.
  for (const auto* cue : {"finale", "home"})
    hall.give(rack::ArmRequested{.request = ++hall.last_request, .cue = plan::CueName{cue}});
  hall.give(rack::DisarmRequested{.request = ++hall.last_request});
  hall.run();
  for (auto request = hall.last_request - 2; request <= hall.last_request; ++request) {
    REQUIRE(hall.answers.contains(request));
    CHECK(hall.answers.at(request).back().outcome == Outcome::done);
  }
}

TEST_CASE("who unlocks what is not locked, or disarms where nothing is armed, is told so") {
  Evening hall;
  CHECK(hall.ask(rack::LockRequested{.locked = false}).detail == "The rack was not locked.");
  hall.lock();
  CHECK(hall.ask(rack::LockRequested{.locked = false}).detail.empty());
  CHECK(hall.ask(rack::DisarmRequested{}).detail == "Nothing was armed.");
  hall.ask(rack::ArmRequested{});
  CHECK(hall.ask(rack::DisarmRequested{}).detail.empty());
  hall.ask(rack::ArmReloadRequested{});
  CHECK(hall.ask(rack::DisarmRequested{}).detail.empty());
}

TEST_CASE("an arming ends by itself, and stands in the journal") {
  Evening hall;
  hall.begin();
  hall.lock();
  hall.ask(rack::ArmRequested{});
  CHECK(hall.deadline() == noon + 600s);
  hall.pass(600s);
  CHECK_FALSE(hall.snapshot()->order.armed);
  CHECK(hall.journal.back().what == "finale armed no longer: expired");
  CHECK(hall.ask(rack::SwitchRequested{}).outcome == Outcome::refused);
  hall.ask(rack::ArmRequested{});
  hall.ask(rack::DisarmRequested{});
  CHECK_FALSE(hall.snapshot()->order.armed);
}

TEST_CASE(
    "the way of an armed cue is planned before it is triggered, and again if something moves") {
  Evening hall;
  hall.begin();
  const auto before = hall.questions.size();
  hall.ask(rack::ArmRequested{});
  CHECK(hall.questions.size() == before + 1);
  hall.nodes.at(3).force = slide_at(2, 518);
  hall.give(rack::NodeReported{uid(3), hall.nodes.at(3).reading()});
  hall.run();
  CHECK(hall.questions.size() == before + 2);
  hall.ask(rack::SwitchRequested{});
  CHECK(hall.at() == "finale");
  CHECK(hall.questions.size() == before + 2);  // nothing was left to plan
}

TEST_CASE("a second trigger is refused, queued, or replaces, as the running order says") {
  for (const auto policy :
       {plan::SecondTrigger::refuse, plan::SecondTrigger::queue, plan::SecondTrigger::replace}) {
    CAPTURE(plan::name_of(policy));
    auto plan = show();
    plan.running_order.second_trigger = policy;
    Evening hall{plan};
    const auto first = hall.go("finale");
    REQUIRE(hall.run_until([&] { return !hall.applied.empty(); }));
    const auto second = hall.go("encore");
    if (policy == plan::SecondTrigger::queue)
      CHECK(hall.snapshot()->order.waiting == std::vector<plan::SegmentName>{{"encore"}});
    hall.run();
    const auto outcome = [&](rack::RequestId id) { return hall.answers.at(id).back().outcome; };
    switch (policy) {
      case plan::SecondTrigger::refuse:
        CHECK(outcome(first) == Outcome::done);
        CHECK(outcome(second) == Outcome::busy);
        CHECK(hall.segment() == "finale");
        break;
      case plan::SecondTrigger::queue:
        CHECK(outcome(first) == Outcome::done);
        CHECK(outcome(second) == Outcome::done);
        CHECK(hall.segment() == "encore");
        break;
      case plan::SecondTrigger::replace:
        CHECK(outcome(first) == Outcome::rolled_back);
        CHECK(hall.answers.at(first).back().detail ==
              "The switch to encore, asked for by ana, replaces it.");
        CHECK(outcome(second) == Outcome::done);
        CHECK(hall.segment() == "encore");
        break;
    }
  }
}

TEST_CASE("what waits behind a switch that is rolled back is dropped, and told why") {
  auto plan = show();
  plan.running_order.second_trigger = plan::SecondTrigger::queue;
  Evening hall{plan};
  hall.nodes.at(2).refuses_to_stage = true;
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.stage() == SwitchStage::staging; }));
  const auto second = hall.go("encore");
  hall.run();
  CHECK(hall.answers.at(second).back().detail ==
        "The switch before it, to finale, was rolled back.");
}

TEST_CASE("an abort drops what waits too") {
  auto plan = show();
  plan.running_order.second_trigger = plan::SecondTrigger::queue;
  Evening hall{plan};
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return !hall.applied.empty(); }));
  const auto second = hall.go("encore");
  hall.ask(rack::AbortRequested{});
  CHECK(hall.answers.at(second).back().detail == "Aborted by ana before it began.");
  CHECK(hall.segment() == "speeches");
  CHECK(hall.ask(rack::AbortRequested{}).detail == "No switch is under way.");
}

TEST_CASE("another plan keeps the place by the cue's name, and disarms") {
  auto plan = show();
  Evening hall{plan};
  hall.begin();
  hall.ask(rack::ArmRequested{});
  plan.running_order.cues.insert(plan.running_order.cues.begin(),
                                 {{"prologue"}, {"encore"}, plan::ByHand{}});
  hall.give(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "reload"});
  hall.run();
  CHECK(hall.at() == "speeches");
  CHECK(hall.next() == "finale");
  CHECK(hall.due() == noon + 30min);
  CHECK_FALSE(hall.snapshot()->order.armed);
  CHECK(hall.nodes.at(1).force == slide_at(0, 518));
}
