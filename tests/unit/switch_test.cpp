// SPDX-License-Identifier: Apache-2.0
// A switch from segment to segment: all nodes or none, and never an end that nobody knows.
#include <doctest/doctest.h>

#include "tests/support/hall.hpp"

using namespace catwalk;
using namespace catwalk::test;
using rack::Outcome;
using rack::SwitchStage;
using rack::Whereabouts;

namespace {

// Microphones move from 510 and 525 MHz to 620 MHz, and all three nodes with them.
plan::RackPlan two_segments() { return moving_rack(3); }

struct Ready : Hall {
  explicit Ready(const plan::RackPlan& plan = two_segments())
      : Hall{plan, {.epoch = {1}}, all_at_home()} {
    meet();
  }
  std::vector<Whereabouts> where() const {
    std::vector<Whereabouts> all;
    for (const auto& node : switching()->nodes) all.push_back(node->where);
    return all;
  }
  bool all_at(double gain, double centre) const {
    for (const auto& [bits, node] : nodes)
      if (node.force != slide_at(gain, centre)) return false;
    return true;
  }
  const rack::Answer& last_answer(rack::RequestId request) { return answers.at(request).back(); }
  // What becomes of a switch, when all that it leads to has happened.
  rack::Answer went(const std::string& segment, std::optional<rack::Waiver> waiver = {}) {
    const auto request = go(segment, std::move(waiver));
    run();
    return last_answer(request);
  }
};

// Moves one node after the other, in the order of the plan.
rack::Way one_by_one(const rack::WayQuestion& question) {
  rack::Way way;
  for (const auto& node : question.nodes)
    if (node.target && node.present != node.target)
      way.steps.push_back(
          {{{node.node, rack::MovePart::whole, node.present, *node.target}}, {}, {}});
  return way;
}

}  // namespace

TEST_CASE("a switch moves every node to the next segment and reads it back") {
  Ready hall;
  const auto request = hall.go("finale");
  hall.run();
  REQUIRE(hall.answers.at(request).size() == 2);
  CHECK(hall.answers.at(request)[0].outcome == Outcome::accepted);
  CHECK(hall.answers.at(request)[1].outcome == Outcome::done);
  CHECK(hall.all_at(3, 618));
  CHECK(hall.snapshot()->segment.text == "finale");
  for (const auto& node : hall.snapshot()->nodes) {
    CHECK(node->agreement == rack::Agreement::agreed);
    CHECK(node->wanted->settings == slide_at(3, 618));
    CHECK_FALSE(node->standing.refuses());
  }
  CHECK(hall.stage() == SwitchStage::done);
  CHECK_FALSE(hall.kept.switching);
  CHECK(hall.kept.segment == "finale");
}

TEST_CASE("nothing is sent before the intent is durable, and nothing applied before its step is") {
  Ready hall;
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.stage() == SwitchStage::recording; }));
  for (const auto& effect : hall.under_way) CHECK_FALSE(std::holds_alternative<rack::Send>(effect));
  REQUIRE(hall.run_until([&] { return hall.stage() == SwitchStage::applying; }));
  REQUIRE(hall.kept.switching);
  CHECK(hall.kept.switching->step == 1);
  CHECK(hall.all_at(0, 518));
}

TEST_CASE("a bus with several nodes in a step is told to apply by one broadcast") {
  Ready hall;
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.stage() == SwitchStage::applying; }));
  std::vector<std::string> told;
  for (const auto& effect : hall.under_way)
    if (const auto* send = std::get_if<rack::Send>(&effect))
      told.push_back(send->line.text +
                     (send->node == protocol::NodeUid::everyone() ? " all" : " one"));
  CHECK(told == std::vector<std::string>{"bus all", "net one"});
}

TEST_CASE("a switch that the rules refuse where it would end moves nothing") {
  auto plan = two_segments();
  plan.segments[1].settings[{"left"}] = to(3, 560);
  Ready hall{plan};
  const auto answer = hall.went("finale");
  CHECK(answer.outcome == Outcome::refused);
  CHECK(answer.verdict.refuses());
  CHECK(hall.all_at(0, 518));
  CHECK(hall.snapshot()->segment.text == "speeches");
  CHECK(hall.journal.back().kind == rack::JournalKind::refused);
  CHECK_FALSE(hall.switching());  // and none is shown as if it were under way
}

TEST_CASE("a node that does not answer keeps an all-or-nothing switch from beginning") {
  Ready hall;
  hall.nodes.at(2).silent = true;
  hall.give(rack::NodeFellSilent{uid(2)});
  const auto answer = hall.went("finale");
  CHECK(answer.outcome == Outcome::unreachable);
  CHECK(answer.detail ==
        "right does not answer, and this segment is all or nothing (if_a_node_fails: roll back).");
  CHECK(hall.nodes.at(1).force == slide_at(0, 518));
}

TEST_CASE(
    "a segment that goes on moves the others, and wants of the missing node what it decided") {
  auto plan = two_segments();
  plan.segments[1].if_a_node_fails = plan::IfNodeFails::go_on;
  // Without its second branch nothing in the end state may be refused for the node that is missing.
  Ready hall{plan};
  hall.nodes.at(3).silent = true;
  hall.give(rack::NodeFellSilent{uid(3)});
  const auto answer = hall.went("finale");
  CHECK(answer.outcome == Outcome::done);
  CHECK(answer.detail == "It went on without spare, as the segment says.");
  CHECK(hall.nodes.at(1).force == slide_at(3, 618));
  CHECK(hall.nodes.at(3).force == slide_at(0, 518));
  CHECK(hall.snapshot()->find({"spare"})->wanted->settings == slide_at(3, 618));
  CHECK(hall.switching()->nodes[2]->what_to_do ==
        "See to its line and its supply; when it answers again, go to speeches or to finale.");
}

TEST_CASE("a node that refuses to be staged rolls the switch back before anything moved") {
  Ready hall;
  hall.nodes.at(2).refuses_to_stage = true;
  const auto answer = hall.went("finale");
  CHECK(answer.outcome == Outcome::rolled_back);
  CHECK(answer.detail == "right: refuses: the gain is out of the node's range.");
  CHECK(hall.applied.empty());
  CHECK(hall.has_alarm(rack::AlarmKind::switch_failed));
  CHECK_FALSE(hall.nodes.at(1).staged);  // discarded
}

TEST_CASE("a node that fails in a later step sends those that have moved back again") {
  Ready hall;
  hall.planner = one_by_one;
  hall.nodes.at(3).refuses_to_stage = true;
  CHECK(hall.went("finale").outcome == Outcome::rolled_back);
  CHECK(hall.applied == std::vector<std::string>{"left", "right", "left", "right"});
  CHECK(hall.all_at(0, 518));
  CHECK(hall.snapshot()->segment.text == "speeches");
  REQUIRE(hall.questions.size() == 2);
  CHECK(hall.questions[1].back);
  CHECK(hall.questions[1].left.text == "finale");
  CHECK(hall.questions[1].entered.text == "speeches");
}

TEST_CASE("an apply that was not heard is repeated for that node alone") {
  Ready hall;
  hall.nodes.at(1).applies_to_miss = 1;
  CHECK(hall.went("finale").outcome == Outcome::done);
  CHECK(hall.applied == std::vector<std::string>{"right", "spare", "left"});
}

TEST_CASE("a node that never obeys ends the switch rolled back, after its tries") {
  Ready hall;
  hall.nodes.at(1).applies_to_miss = 100;
  CHECK(hall.went("finale").outcome == Outcome::rolled_back);
  CHECK(hall.nodes.at(1).applies_to_miss == 97);
  CHECK(hall.all_at(0, 518));
}

TEST_CASE(
    "a node that falls silent after it was told to apply leaves the switch stuck, and says so") {
  Ready hall;
  hall.planner = one_by_one;
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.applied.size() == 2; }));
  hall.nodes.at(2).silent = true;
  hall.run();
  REQUIRE(hall.stage() == SwitchStage::stuck);
  CHECK(hall.where() ==
        std::vector<Whereabouts>{Whereabouts::before, Whereabouts::unknown, Whereabouts::before});
  CHECK(hall.last_answer(1).outcome == Outcome::stuck);
  CHECK(hall.last_answer(1).detail ==
        "right: did not answer (timed out); it had its old or its new settings. left is as it was "
        "before; right does not answer; spare is as it was before.");
  CHECK(hall.snapshot()->find({"right"})->wanted->settings == slide_at(0, 518));
}

TEST_CASE("an abort turns the switch back after the step that is under way") {
  Ready hall;
  hall.planner = one_by_one;
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.applied.size() == 1; }));
  hall.give(rack::AbortRequested{.request = ++hall.last_request, .who = "ben", .why = "too early"});
  hall.run();
  CHECK(hall.stage() == SwitchStage::rolled_back);
  CHECK(hall.last_answer(1).outcome == Outcome::rolled_back);
  CHECK(hall.last_answer(1).detail == "Aborted by ben: too early.");
  CHECK(hall.applied == std::vector<std::string>{"left", "left"});
  CHECK(hall.last_answer(2).outcome == Outcome::done);
}

TEST_CASE("an abort while the way is planned or recorded moves nothing") {
  for (const auto when : {SwitchStage::planning, SwitchStage::recording, SwitchStage::staging}) {
    Ready hall;
    hall.go("finale");
    REQUIRE(hall.run_until([&] { return hall.stage() == when; }));
    hall.give(rack::AbortRequested{.request = ++hall.last_request, .who = "ben"});
    hall.run();
    CAPTURE(rack::name_of(when));
    CHECK(hall.applied.empty());
    CHECK(hall.all_at(0, 518));
    CHECK((hall.last_answer(1).outcome == Outcome::rolled_back ||
           hall.last_answer(1).outcome == Outcome::refused));
    CHECK_FALSE(hall.kept.switching);
  }
}

TEST_CASE("a way that cannot be worked out ends the switch, wherever it is") {
  Ready hall;
  int good = 0;  // ways that can be worked out
  hall.planner = [&](const rack::WayQuestion& question) -> std::optional<rack::Way> {
    return good-- > 0 ? std::optional{one_by_one(question)} : std::nullopt;
  };
  SUBCASE("before anything moved: nothing does") {
    hall.go("finale");
    hall.run();
    CHECK(hall.last_answer(1).outcome == Outcome::busy);
    CHECK(hall.last_answer(1).detail == "The way could not be worked out (see the log).");
    CHECK(hall.applied.empty());
    CHECK_FALSE(hall.kept.switching);
  }
  SUBCASE("on the way back: it is stuck, and says who is where") {
    good = 1;
    hall.nodes.at(3).refuses_to_stage = true;
    hall.go("finale");
    hall.run();
    CHECK(hall.stage() == SwitchStage::stuck);
    CHECK(hall.switching()->reason.find("could not be worked out") != std::string::npos);
    CHECK(hall.last_answer(1).outcome == Outcome::stuck);
  }
  // Another is not kept from beginning.
  good = 1'000;
  hall.nodes.at(3).refuses_to_stage = false;
  const auto again = hall.go("finale");
  hall.run();
  CHECK(hall.last_answer(again).outcome == Outcome::done);
}

TEST_CASE("an abort on the way back stops where it is") {
  Ready hall;
  hall.planner = one_by_one;
  hall.nodes.at(3).refuses_to_stage = true;
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.applied.size() == 3; }));
  REQUIRE(hall.switching()->back);
  hall.give(rack::AbortRequested{.request = ++hall.last_request, .who = "ben"});
  hall.run();
  CHECK(hall.stage() == SwitchStage::stuck);
  CHECK(hall.where() ==
        std::vector<Whereabouts>{Whereabouts::before, Whereabouts::target, Whereabouts::before});
}

TEST_CASE("a rack that is not as planned is planned anew before the next step") {
  Ready hall;
  hall.planner = one_by_one;
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.applied.size() == 1; }));
  hall.nodes.at(3).force = slide_at(1, 519);  // a hand at the node
  hall.give(rack::NodeReported{uid(3), hall.nodes.at(3).reading()});
  hall.run();
  CHECK(hall.stage() == SwitchStage::done);
  CHECK(hall.all_at(3, 618));
  REQUIRE(hall.questions.size() == 2);
  CHECK(hall.questions[1].nodes[2].present == slide_at(1, 519));
}

TEST_CASE("a node without supply is told along, so that it has its settings when it returns") {
  Ready hall;
  hall.nodes.at(3).powered = false;
  hall.give(rack::NodeReported{uid(3), hall.nodes.at(3).reading()});
  hall.run();
  hall.go("finale");
  hall.run();
  CHECK(hall.stage() == SwitchStage::done);
  CHECK(hall.nodes.at(3).force == slide_at(3, 618));
}

TEST_CASE("a full disk begins no switch") {
  Ready hall;
  hall.disk_full = true;
  const auto request = hall.go("finale");
  for (int i = 0; i < 200 && hall.step(); ++i) {
  }
  CHECK(hall.answers.at(request).size() == 1);
  CHECK(hall.last_answer(request).outcome == Outcome::not_recorded);
  CHECK(hall.applied.empty());
}

TEST_CASE("a disk that fills up in the middle sends the switch back") {
  Ready hall;
  hall.planner = one_by_one;
  const auto request = hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.applied.size() == 1; }));
  hall.disk_full = true;
  for (int i = 0; i < 2000 && hall.answers.at(request).size() < 2; ++i) hall.step();
  REQUIRE(hall.answers.at(request).size() == 2);
  CHECK(hall.last_answer(request).outcome == Outcome::rolled_back);
  CHECK(hall.last_answer(request).detail.ends_with("The journal could not be written: disk full."));
  CHECK(hall.all_at(0, 518));
}

TEST_CASE("a switch is answered done when its end is durable, and not before") {
  Ready hall;
  const auto request = hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.stage() == SwitchStage::done; }));
  CHECK(hall.last_answer(request).outcome == Outcome::accepted);
  REQUIRE(hall.run_until([&] { return hall.answers.at(request).size() == 2; }));
  CHECK(hall.last_answer(request).outcome == Outcome::done);
  CHECK(hall.kept.segment == "finale");
  CHECK_FALSE(hall.kept.switching);
}

TEST_CASE("a switch whose end cannot be recorded is not called done, but says that all has moved") {
  Ready hall;
  const auto request = hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.stage() == SwitchStage::done; }));
  hall.disk_full = true;
  for (int i = 0; i < 50 && hall.answers.at(request).size() < 2; ++i) hall.step();
  REQUIRE(hall.answers.at(request).size() == 2);
  CHECK(hall.last_answer(request).outcome == Outcome::not_recorded);
  CHECK(hall.last_answer(request).detail ==
        "The journal could not be written: disk full. The switch is done.");
  CHECK(hall.all_at(3, 618));
  // It is kept as soon as there is room again.
  hall.disk_full = false;
  hall.wait(std::chrono::seconds{2});
  hall.run();
  CHECK(hall.kept.segment == "finale");
  CHECK_FALSE(hall.kept.switching);
}

TEST_CASE(
    "what a switch wants of a node is kept although a change of it still waits for its fate") {
  auto plan = two_segments();
  plan.segments[1].if_a_node_fails = plan::IfNodeFails::go_on;
  Ready hall{plan};
  // The daemon was stopped in a change of right, which has been silent since.
  const auto right = uid(2);
  hall.kept.unfinished = {
      {.change = 1, .node = right, .before = slide_at(0, 518), .after = slide_at(3, 520)}};
  hall.kept.wanted[right] = {slide_at(3, 520), 2};
  hall.kept.last_change = 1;
  hall.nodes.at(2).silent = true;
  hall.kill_and_restart();
  hall.meet();
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.stage() == SwitchStage::done; }));
  hall.disk_full = true;
  hall.run();
  hall.disk_full = false;
  hall.wait(std::chrono::seconds{2});
  hall.run();
  REQUIRE(hall.kept.segment == "finale");
  CHECK(hall.kept.wanted.at(right).settings == slide_at(3, 618));
}

TEST_CASE("a node that the switch goes on without is not moved by what the others are told") {
  auto plan = two_segments();
  plan.segments[1].if_a_node_fails = plan::IfNodeFails::go_on;
  plan.nodes[2].line = plan.nodes[0].line;
  Ready hall{plan};
  hall.nodes.at(2).stages_unheard = true;
  CHECK(hall.went("finale").outcome == Outcome::done);
  CHECK(hall.nodes.at(1).force == slide_at(3, 618));
  CHECK(hall.nodes.at(3).force == slide_at(3, 618));
  // It holds what was staged, but nobody has told it to apply that: it is where the list says.
  CHECK(hall.nodes.at(2).force == slide_at(0, 518));
  const auto& nodes = hall.switching()->nodes;
  const auto right = std::ranges::find(nodes, plan::NodeName{"right"},
                                       [](const auto& node) { return node->node; });
  REQUIRE(right != nodes.end());
  CHECK((*right)->where == Whereabouts::before);
}

TEST_CASE("each switch that fails is told anew, whatever was acknowledged or shelved before") {
  Ready hall;
  hall.nodes.at(2).refuses_to_stage = true;
  const auto failed = [&] {
    for (const auto& alarm : *hall.snapshot()->alarms)
      if (alarm.kind == rack::AlarmKind::switch_failed) return alarm;
    return rack::Alarm{};
  };
  hall.go("finale");
  hall.run();
  const auto first = failed();
  REQUIRE(first.active());
  rack::ShelveRequested shelve;
  shelve.request = ++hall.last_request;
  shelve.alarm = first.id;
  shelve.who = "ana";
  shelve.why = "known";
  shelve.lasting = std::chrono::minutes{30};
  hall.give(shelve);
  hall.run();
  REQUIRE(failed().shelved);
  hall.wait(std::chrono::minutes{1});
  hall.go("finale");
  hall.run();
  CHECK_FALSE(failed().shelved);
  CHECK(failed().active());
  CHECK(failed().raised == first.raised + std::chrono::minutes{1});
}

TEST_CASE("what was put off for a switch that never began is looked at when it is given up") {
  Ready hall;
  auto& left = hall.nodes.at(1);
  left.force.gain = rf::Gain::decibels(3);
  hall.give(rack::NodeReported{protocol::NodeUid::from_bits(1), left.reading()});
  REQUIRE(hall.has_alarm(rack::AlarmKind::drifted));
  // While its way is planned somebody turns the knob back, and another aborts it.
  hall.go("finale");
  REQUIRE(hall.stage() == SwitchStage::planning);
  left.force = slide_at(0, 518);
  hall.give(rack::NodeReported{protocol::NodeUid::from_bits(1), left.reading()});
  hall.give(rack::AbortRequested{.request = ++hall.last_request, .who = "ben"});
  hall.run();
  CHECK(hall.applied.empty());
  CHECK_FALSE(hall.has_alarm(rack::AlarmKind::drifted));
}

TEST_CASE("single changes and the choice of a segment wait for no switch: they are told busy") {
  Ready hall;
  hall.planner = one_by_one;
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.applied.size() == 1; }));
  rack::ChangeRequested change{.request = ++hall.last_request, .node = {"left"}};
  change.patch.gain = rf::Gain::decibels(1);
  hall.give(change);
  hall.give(rack::SegmentRequested{.request = ++hall.last_request, .segment = {"finale"}});
  hall.run();
  CHECK(hall.last_answer(2).outcome == Outcome::busy);
  CHECK(hall.last_answer(2).detail == "The switch to finale is under way.");
  CHECK(hall.last_answer(3).outcome == Outcome::busy);
}

TEST_CASE("a switch begins when the changes that were under way have ended") {
  Ready hall;
  rack::ChangeRequested change{.request = ++hall.last_request, .node = {"left"}};
  change.patch.gain = rf::Gain::decibels(1);
  hall.give(change);
  const auto answer = hall.went("finale");
  CHECK(hall.last_answer(1).outcome == Outcome::settled);
  CHECK(answer.outcome == Outcome::done);
}

TEST_CASE(
    "after a kill every node is read, and the running order says what becomes of the switch") {
  for (const auto policy :
       {plan::AfterRestart::wait, plan::AfterRestart::finish, plan::AfterRestart::roll_back}) {
    CAPTURE(plan::name_of(policy));
    auto plan = two_segments();
    plan.running_order.after_restart = policy;
    Ready hall{plan};
    hall.planner = one_by_one;
    hall.go("finale");
    REQUIRE(hall.run_until([&] { return hall.applied.size() == 1; }));
    hall.kill_and_restart();
    CHECK(hall.stage() == SwitchStage::interrupted);
    REQUIRE(hall.applied.size() == 1);
    hall.meet();
    if (policy == plan::AfterRestart::wait) {
      CHECK(hall.stage() == SwitchStage::stuck);
      CHECK(hall.applied.size() == 1);  // nothing is sent without being asked
      CHECK(hall.where() == std::vector<Whereabouts>{Whereabouts::target, Whereabouts::before,
                                                     Whereabouts::before});
      hall.go("finale");
      hall.run();
      CHECK(hall.stage() == SwitchStage::done);
    }
    if (policy != plan::AfterRestart::roll_back) CHECK(hall.all_at(3, 618));
    if (policy == plan::AfterRestart::finish) CHECK(hall.stage() == SwitchStage::done);
    if (policy == plan::AfterRestart::roll_back) {
      CHECK(hall.stage() == SwitchStage::rolled_back);
      CHECK(hall.all_at(0, 518));
    }
  }
}

TEST_CASE(
    "a kill at any moment of a switch leaves it known: done, rolled back, or stuck with a list") {
  for (int moment = 0;; ++moment) {
    Ready hall;
    hall.planner = one_by_one;
    hall.go("finale");
    int steps = 0;
    while (steps < moment && hall.step()) ++steps;
    if (steps < moment) break;
    const bool under_way = hall.kept.switching.has_value();
    hall.kill_and_restart();
    hall.meet();
    hall.run();
    CAPTURE(moment);
    // Only one that is stuck is kept, to be told.
    CHECK((!hall.kept.switching || hall.kept.switching->stuck));
    CHECK((hall.switching() != nullptr) == under_way);
    if (!under_way) {
      const bool there = hall.snapshot()->segment.text == "finale";
      CHECK(hall.all_at(there ? 3 : 0, there ? 618 : 518));
    } else {
      REQUIRE(rack::is_end(*hall.stage()));
      for (const auto& node : hall.switching()->nodes) {
        const auto bits = hall.snapshot()->find(node->node)->uid.bits();
        const auto expected = node->where == Whereabouts::target ? node->target : node->before;
        CHECK(hall.nodes.at(bits).force == expected);
      }
    }
  }
}

namespace {

// right fell silent when it was told to apply, and the first step is in force.
void get_stuck(Ready& hall) {
  hall.planner = one_by_one;
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.applied.size() == 2; }));
  hall.nodes.at(2).silent = true;
  hall.nodes.at(1).silent = true;  // the way back does not reach it either
  hall.run();
  REQUIRE(hall.stage() == SwitchStage::stuck);
}

}  // namespace

TEST_CASE("a switch that is stuck is told node by node after a restart too, and moves nothing") {
  for (const auto policy :
       {plan::AfterRestart::wait, plan::AfterRestart::finish, plan::AfterRestart::roll_back}) {
    CAPTURE(plan::name_of(policy));
    auto plan = two_segments();
    plan.running_order.after_restart = policy;
    Ready hall{plan};
    get_stuck(hall);
    const auto applied = hall.applied.size();
    const auto rows = hall.journal.size();
    hall.nodes.at(1).silent = false;
    hall.kill_and_restart();
    CHECK_FALSE(hall.switching());  // no node was read
    hall.meet();
    hall.run();
    REQUIRE(hall.stage() == SwitchStage::stuck);
    const auto& stuck = *hall.switching();
    CHECK(stuck.left.text == "speeches");
    CHECK(stuck.entered.text == "finale");
    CHECK(stuck.reason ==
          "It was stuck before the daemon was restarted. left has the settings of finale; right "
          "does not answer; spare is as it was before.");
    REQUIRE(stuck.nodes.size() == 3);
    CHECK(stuck.nodes[0]->where == Whereabouts::target);
    CHECK(stuck.nodes[0]->what_to_do == "Then go to speeches or to finale.");
    CHECK(stuck.nodes[1]->where == Whereabouts::unknown);
    CHECK(stuck.nodes[1]->what_to_do ==
          "See to its line and its supply; when it answers again, go to speeches or to finale.");
    // It is told, and no more: its end stands in the journal once.
    CHECK(hall.applied.size() == applied);
    for (std::size_t i = rows; i < hall.journal.size(); ++i)
      CHECK(hall.journal[i].kind != rack::JournalKind::switching);
  }
}

TEST_CASE("what ended after a switch was stuck is told after a restart, and not that") {
  Ready hall;
  get_stuck(hall);
  hall.nodes.at(1).silent = hall.nodes.at(2).silent = false;
  hall.meet();
  hall.go("finale");
  hall.run();
  REQUIRE(hall.stage() == SwitchStage::done);
  CHECK_FALSE(hall.kept.switching);
  hall.kill_and_restart();
  hall.meet();
  CHECK_FALSE(hall.switching());
}

TEST_CASE("nobody waits for a switch that is stuck: another goes before all its nodes are read") {
  Ready hall;
  get_stuck(hall);
  hall.nodes.at(1).silent = hall.nodes.at(2).silent = false;
  hall.kill_and_restart();
  hall.go("finale");
  hall.meet();
  hall.run();
  CHECK(hall.stage() == SwitchStage::done);
  CHECK(hall.all_at(3, 618));
  CHECK_FALSE(hall.kept.switching);
}

TEST_CASE("a stuck switch whose segment has left the show is told in one sentence, as before") {
  Ready hall;
  get_stuck(hall);
  auto other = two_segments();
  other.segments[1].name = {"encore"};
  hall.kill_and_restart(other);
  hall.meet();
  hall.run();
  CHECK_FALSE(hall.switching());
  CHECK_FALSE(hall.kept.switching);
}

TEST_CASE("after a restart a silent node is named, not waited for") {
  Ready hall;
  hall.planner = one_by_one;
  hall.go("finale");
  REQUIRE(hall.run_until([&] { return hall.applied.size() == 1; }));
  hall.nodes.at(2).silent = true;
  hall.kill_and_restart();
  hall.meet();
  CHECK(hall.stage() == SwitchStage::stuck);
  CHECK(hall.where()[1] == Whereabouts::unknown);
}

namespace {

rack::SwitchRequested to_finale_without(const std::string& node, bool is_signed = true) {
  rack::SwitchRequested event;
  event.segment = plan::SegmentName{"finale"};
  event.without = {{node}};
  event.why = "cable torn";
  if (is_signed) event.waiver = rack::Waiver{"ana", "the other branch has it"};
  return event;
}

rack::Answer asked(Ready& hall, rack::SwitchRequested event) {
  event.request = ++hall.last_request;
  event.who = "ana";
  hall.give(event);
  hall.run();
  return hall.last_answer(event.request);
}

bool has_rule(const rack::Verdict& verdict, rack::Rule rule) {
  return std::ranges::find(verdict.findings, rule, &rack::Finding::rule) != verdict.findings.end();
}

}  // namespace

TEST_CASE("a switch goes without a dead node if somebody answers for it by name") {
  Ready hall;
  hall.nodes.at(2).silent = true;
  hall.give(rack::NodeFellSilent{uid(2)});
  hall.run();
  CHECK(hall.last_answer(hall.go("finale")).outcome == Outcome::unreachable);

  const auto unsigned_one = asked(hall, to_finale_without("right", false));
  CHECK(unsigned_one.outcome == Outcome::needs_waiver);
  CHECK(has_rule(unsigned_one.verdict, rack::Rule::node_left_out));

  const auto gone = asked(hall, to_finale_without("right"));
  CHECK(gone.outcome == Outcome::done);
  CHECK(gone.detail == "It went without right, left out by ana.");
  CHECK(hall.snapshot()->segment.text == "finale");
  CHECK(hall.nodes.at(1).force == slide_at(3, 618));
  CHECK(hall.nodes.at(2).force == slide_at(0, 518));
  CHECK(hall.nodes.at(3).force == slide_at(3, 618));
  // What the segment wants of it is wanted of it, for whoever mends it.
  CHECK(hall.snapshot()->nodes[1]->wanted->settings == slide_at(3, 618));
  const auto intent = std::ranges::find_if(hall.journal, [](const auto& entry) {
    return entry.what.find(", without right") != std::string::npos;
  });
  REQUIRE(intent != hall.journal.end());
  CHECK(intent->why == "cable torn");
}

TEST_CASE("a waiver for one node is none for another") {
  Ready hall;
  for (const auto bits : {2, 3}) {
    hall.nodes.at(static_cast<std::uint64_t>(bits)).silent = true;
    hall.give(rack::NodeFellSilent{uid(static_cast<std::uint64_t>(bits))});
  }
  hall.run();
  const auto answer = asked(hall, to_finale_without("right"));
  CHECK(answer.outcome == Outcome::unreachable);
  CHECK(answer.detail.starts_with("spare does not answer"));
  CHECK(hall.all_at(0, 518));
}

TEST_CASE("what is left out is not moved though it answers, nor on the way back") {
  Ready hall;
  CHECK(asked(hall, to_finale_without("spare")).outcome == Outcome::done);
  CHECK(hall.nodes.at(3).force == slide_at(0, 518));

  // A node that fails under way turns the others back, and that is a clean end.
  Ready failing;
  failing.planner = one_by_one;
  failing.nodes.at(2).refuses_to_stage = true;
  CHECK(asked(failing, to_finale_without("spare")).outcome == Outcome::rolled_back);
  CHECK(failing.all_at(0, 518));
}

TEST_CASE("who leaves out a node that answers signs for the carriers that it does not bring") {
  Ready hall;
  const auto unsigned_one = asked(hall, to_finale_without("right", false));
  CHECK(unsigned_one.outcome == Outcome::needs_waiver);
  const auto& findings = unsigned_one.verdict.findings;
  const auto outside =
      std::ranges::find(findings, rack::Rule::carrier_outside_window, &rack::Finding::rule);
  REQUIRE(outside != findings.end());
  CHECK(outside->node.text == "right");
  CHECK(outside->severity == rack::Severity::caution);
  CHECK(hall.all_at(0, 518));

  const auto gone = asked(hall, to_finale_without("right"));
  CHECK(gone.outcome == Outcome::done);
  CHECK(gone.detail == "It went without right, left out by ana.");
  CHECK(hall.nodes.at(1).force == slide_at(3, 618));
  CHECK(hall.nodes.at(2).force == slide_at(0, 518));
  CHECK(hall.snapshot()->nodes[1]->wanted->settings == slide_at(3, 618));
}

TEST_CASE("nobody signs for what a node that is left out lets in, or for a receiver that is dark") {
  SUBCASE("an own transmitter in its window") {
    auto plan = two_segments();
    auto ears = plan.segments[1].carriers.back();
    ears.name = {"ears-9"};
    ears.use = plan::CarrierUse::transmit;
    ears.frequency = rf::Frequency::megahertz(518);
    plan.segments[1].carriers.push_back(ears);
    Ready hall{plan};
    const auto refused = asked(hall, to_finale_without("right"));
    CHECK(refused.outcome == Outcome::refused);
    CHECK(refused.detail ==
          "The rules refuse where it would end; nothing was moved. right, which is left out, may "
          "not stay so there: set power=off or other settings first, or do not leave it out.");
    CHECK(hall.all_at(0, 518));
  }
  SUBCASE("both antennas of a receiver") {
    Ready hall;
    auto event = to_finale_without("right");
    event.without.push_back({"left"});
    const auto refused = asked(hall, event);
    CHECK(refused.outcome == Outcome::refused);
    CHECK(has_rule(refused.verdict, rack::Rule::diversity_dark));
    CHECK(hall.all_at(0, 518));
  }
  SUBCASE("of one that is silent, nothing is known and nothing refused, which is said") {
    Ready hall;
    hall.nodes.at(2).silent = true;
    hall.give(rack::NodeFellSilent{uid(2)});
    const auto silent = asked(hall, to_finale_without("right", false));
    CHECK(silent.outcome == Outcome::needs_waiver);
    const auto left_out =
        std::ranges::find(silent.verdict.findings, rack::Rule::node_left_out, &rack::Finding::rule);
    REQUIRE(left_out != silent.verdict.findings.end());
    CHECK(left_out->sentence.ends_with("What it does there is not known, and was not checked."));
  }
}

TEST_CASE("a switch that went without a node is taken up after a restart") {
  auto plan = two_segments();
  plan.running_order.after_restart = plan::AfterRestart::finish;
  Ready hall{plan};
  hall.planner = one_by_one;
  hall.nodes.at(3).silent = true;
  hall.give(rack::NodeFellSilent{uid(3)});
  hall.run();
  auto event = to_finale_without("spare");
  event.request = ++hall.last_request;
  event.who = "ana";
  hall.give(event);
  REQUIRE(hall.run_until([&] { return hall.nodes.at(1).force == slide_at(3, 618); }));
  hall.kill_and_restart();
  hall.meet();
  hall.run();
  REQUIRE(hall.switching());
  CHECK(hall.switching()->stage == SwitchStage::done);
  CHECK(hall.nodes.at(3).force == slide_at(0, 518));
  // It is wanted where the segment has it, as if nothing had been in between.
  CHECK(hall.snapshot()->nodes[2]->wanted->settings == slide_at(3, 618));
}

TEST_CASE("what has drifted is brought back in one act, under the show lock too") {
  Ready hall;
  const auto turn_knob = [&](std::uint64_t bits, double gain) {
    hall.nodes.at(bits).force.gain = rf::Gain::decibels(gain);
    hall.give(rack::NodeReported{uid(bits), hall.nodes.at(bits).reading()});
    hall.run();
  };
  const auto ask = [&](auto event) {
    event.request = ++hall.last_request;
    event.who = "ana";
    hall.give(event);
    hall.run();
    return hall.last_answer(event.request);
  };
  // Nothing to do is no refusal, and no switch.
  const auto nothing = ask(rack::RestoreRequested{});
  CHECK(nothing.outcome == Outcome::done);
  CHECK(nothing.switching == nullptr);
  CHECK(nothing.detail ==
        "Every node of ours that answers shows what is wanted of it: there is nothing to bring "
        "back.");
  CHECK(hall.snapshot()->switching == nullptr);
  turn_knob(1, 6);
  turn_knob(3, -3);
  REQUIRE(ask(rack::LockRequested{.locked = true}).outcome == Outcome::done);
  const auto reached_before = hall.snapshot()->order;
  const auto done = ask(rack::RestoreRequested{});
  CHECK(done.outcome == Outcome::done);
  CHECK(done.switching->restores);
  CHECK(done.switching->nodes.size() == 2);
  CHECK(hall.all_at(0, 518));
  CHECK(hall.snapshot()->segment.text == "speeches");
  CHECK(hall.snapshot()->order == reached_before);
  for (const auto& node : hall.snapshot()->nodes) CHECK(node->agreement == rack::Agreement::agreed);

  // One alone, by its own request; and of several those that are named.
  turn_knob(1, 6);
  turn_knob(2, 6);
  CHECK(ask(rack::ReapplyRequested{.node = {"left"}}).outcome == Outcome::settled);
  CHECK(hall.nodes.at(1).force == slide_at(0, 518));
  CHECK(ask(rack::RestoreRequested{.nodes = {{"left"}}})
            .detail.starts_with("All nodes that are named show what is wanted"));
  CHECK(hall.nodes.at(2).force == slide_at(6, 518));
  CHECK(ask(rack::RestoreRequested{.nodes = {{"right"}}}).outcome == Outcome::done);
  CHECK(hall.all_at(0, 518));
  // All other changes stay refused.
  CHECK(ask(rack::ChangeRequested{.node = {"left"}, .patch = {.gain = rf::Gain::decibels(3)}})
            .outcome == Outcome::refused);
}

TEST_CASE("one that does not take what is wanted does not hold back the others") {
  Ready hall;
  for (const auto bits : {1U, 3U}) {
    hall.nodes.at(bits).force.gain = rf::Gain::decibels(6);
    hall.give(rack::NodeReported{uid(bits), hall.nodes.at(bits).reading()});
  }
  hall.run();
  hall.nodes.at(3).refuses_to_stage = true;
  rack::RestoreRequested event;
  event.request = ++hall.last_request;
  event.who = "ana";
  hall.give(event);
  hall.run();
  CHECK(hall.nodes.at(1).force == slide_at(0, 518));
  CHECK(hall.nodes.at(3).force == slide_at(6, 518));
  CHECK(hall.last_answer(event.request).detail == "It went on without spare.");
}

TEST_CASE("a repair holds back no switch, and nothing that it has mended is undone") {
  const auto turn_knobs = [](Ready& hall) {
    for (const auto bits : {1U, 3U}) {
      hall.nodes.at(bits).force.gain = rf::Gain::decibels(6);
      hall.give(rack::NodeReported{uid(bits), hall.nodes.at(bits).reading()});
    }
    hall.run();
  };
  const auto begin_repair = [](Ready& hall) {
    rack::RestoreRequested event;
    event.request = ++hall.last_request;
    event.who = "ana";
    hall.give(event);
    return event.request;
  };
  // second_trigger: refuse, as it is by default.
  Ready hall;
  hall.planner = one_by_one;
  turn_knobs(hall);
  begin_repair(hall);
  REQUIRE(hall.run_until([&] { return hall.nodes.at(1).force == slide_at(0, 518); }));
  const auto go = hall.go("finale");
  hall.run();
  CHECK(hall.last_answer(go).outcome == Outcome::done);
  CHECK(hall.snapshot()->segment.text == "finale");

  Ready stopped;
  stopped.planner = one_by_one;
  turn_knobs(stopped);
  const auto repair = begin_repair(stopped);
  REQUIRE(stopped.run_until([&] { return stopped.nodes.at(1).force == slide_at(0, 518); }));
  stopped.give(rack::AbortRequested{++stopped.last_request, "bo", "not now"});
  stopped.run();
  CHECK(stopped.nodes.at(1).force == slide_at(0, 518));
  CHECK(stopped.nodes.at(3).force == slide_at(6, 518));
  CHECK(stopped.last_answer(repair).detail.find("It went on without spare.") != std::string::npos);
  CHECK_FALSE(stopped.has_alarm(rack::AlarmKind::switch_failed));
}

TEST_CASE("whom the rules refuse by now is not brought back, and the others are") {
  auto plan = two_segments();
  Ready hall{plan};
  for (const auto bits : {1U, 3U}) {
    hall.nodes.at(bits).force.gain = rf::Gain::decibels(6);
    hall.give(rack::NodeReported{uid(bits), hall.nodes.at(bits).reading()});
  }
  hall.run();
  // A plan in which the third may not have what is wanted of it.
  plan.nodes[2].gain_limits = plan::GainLimits{rf::Gain::decibels(3), rf::Gain::decibels(9)};
  hall.give(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "ana"});
  hall.run();
  rack::RestoreRequested event;
  event.request = ++hall.last_request;
  event.who = "ana";
  hall.give(event);
  hall.run();
  CHECK(hall.last_answer(event.request).outcome == Outcome::done);
  CHECK(hall.nodes.at(1).force == slide_at(0, 518));
  CHECK(hall.nodes.at(3).force == slide_at(6, 518));
  const auto& spare = *hall.switching()->nodes.back();
  CHECK(spare.reason.starts_with("The rules refuse by now what is wanted of it: "));
}

TEST_CASE("whoever is left out without anything to move is answered for, too") {
  auto plan = two_segments();
  plan.segments[1].settings.erase(plan::NodeName{"spare"});
  Ready hall{plan};
  const auto refused = asked(hall, to_finale_without("spare", false));
  CHECK(refused.outcome == Outcome::needs_waiver);
  CHECK(has_rule(refused.verdict, rack::Rule::node_left_out));
}
