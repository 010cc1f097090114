// SPDX-License-Identifier: Apache-2.0
// What subscribers are told, when, and for how long.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/booth.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace std::chrono_literals;
using control::Argument;
using control::Feedback;
using control::Message;
using control::Peer;

namespace {

const Message subscribe{"/catwalk/subscribe", {}};
const Message unsubscribe{"/catwalk/unsubscribe", {}};
using Arguments = std::vector<Argument>;

std::string text(const std::string& value) { return value; }
std::int32_t number(std::int32_t value) { return value; }

}  // namespace

TEST_CASE("whoever subscribes is told the whole state at once") {
  Booth booth;
  booth.send(subscribe);
  CHECK(Booth::sentence(booth.replies().at(0)) ==
        "10.0.0.1:53000 is told the state; to be renewed within 60 s.");
  const auto states = booth.states(booth.desk);
  REQUIRE(states.size() == 1);
  const auto& state = states[0];
  CHECK(state.messages.size() == 9);
  CHECK(Booth::in(state, "segment").arguments == Arguments{text("speeches")});
  CHECK(Booth::in(state, "cue").arguments == Arguments{text("")});
  CHECK(Booth::in(state, "next").arguments == Arguments{text("opening"), text("speeches")});
  CHECK(Booth::in(state, "due").arguments == Arguments{text("")});
  CHECK(Booth::in(state, "waiting").address == "/catwalk/state/waiting");
  CHECK(Booth::in(state, "waiting").arguments.empty());
  CHECK(Booth::in(state, "lock").arguments == Arguments{number(0), text(""), text("")});
  CHECK(Booth::in(state, "armed").arguments == Arguments{text(""), text(""), text("")});
  CHECK(Booth::in(state, "switch").arguments == Arguments{text(""), text(""), text("none"),
                                                          number(0), number(0), number(0),
                                                          number(0), number(0), text("")});
  CHECK(Booth::in(state, "alarms").arguments == Arguments{number(0)});
}

TEST_CASE("a switch is told as it goes: stage, step, and the nodes that are there") {
  Booth booth;
  booth.send(subscribe);
  booth.states(booth.desk);
  booth.hold = true;
  booth.send(go_finale);
  std::vector<Arguments> seen;
  while (booth.hall.step()) {
    booth.publish();
    booth.pass(Feedback::shortest_pause);
    for (const auto& state : booth.states(booth.desk)) {
      const auto now = Booth::in(state, "switch").arguments;
      if (seen.empty() || seen.back() != now) seen.push_back(now);
    }
  }
  booth.settle();
  const auto stage = [](const Arguments& one) { return std::get<std::string>(one[2]); };
  const auto at = [](const Arguments& one, std::size_t i) {
    return std::get<std::int32_t>(one[i]);
  };
  REQUIRE(seen.size() > 4);
  CHECK(stage(seen.front()) == "recording");
  CHECK(stage(seen.back()) == "done");
  const auto steps = static_cast<std::int32_t>(booth.hall.switching()->steps);
  for (std::size_t i = 1; i < seen.size(); ++i) {
    CHECK(at(seen[i], 4) >= at(seen[i - 1], 4));  // steps go up, and so do nodes that are there
    CHECK(at(seen[i], 6) >= at(seen[i - 1], 6));
    CHECK(at(seen[i], 7) == 3);
  }
  CHECK(at(seen.back(), 4) == steps);
  CHECK(at(seen.back(), 5) == steps);
  CHECK(at(seen.back(), 6) == 3);
}

TEST_CASE(
    "after a switch that was rolled back, all its nodes count as back, even if none had moved") {
  Booth booth;
  booth.hold = true;
  booth.send(go_finale);
  REQUIRE(booth.hall.stage() == rack::SwitchStage::planning);
  REQUIRE(booth.hall.run_until([&] { return booth.hall.stage() == rack::SwitchStage::recording; }));
  booth.send({"/catwalk/abort", {}});
  booth.hold = false;
  booth.settle();
  booth.send(subscribe);
  const auto told = Booth::in(booth.states(booth.desk).at(0), "switch").arguments;
  CHECK(told[2] == Argument{text("rolled-back")});
  CHECK(told[6] == Argument{number(3)});
  CHECK(told[7] == Argument{number(3)});
}

TEST_CASE("lock, arming, alarms and what is due are told") {
  auto plan = called_show();
  plan.running_order.cues[1].trigger = plan::AfterSegment{{"speeches"}, 90s};
  Booth booth{plan};
  booth.send({"/catwalk/next", {}});
  booth.send({"/catwalk/lock", {}});
  booth.send({"/catwalk/arm", {}});
  booth.hall.give(rack::LineWentDown{{"net"}, "unplugged"});
  booth.settle();
  booth.send(subscribe);
  const auto state = booth.states(booth.desk).at(0);
  const auto who = text("osc 10.0.0.1:53000");
  CHECK(Booth::in(state, "cue").arguments == Arguments{text("opening")});
  CHECK(Booth::in(state, "next").arguments == Arguments{text("big end"), text("finale")});
  CHECK(Booth::in(state, "lock").arguments == Arguments{number(1), who, text("")});
  // The hall begins 50 years of 365 days after 1970.
  CHECK(Booth::in(state, "armed").arguments ==
        Arguments{text("big end"), who, text("2019-12-20T00:10:00Z")});
  CHECK(Booth::in(state, "due").arguments == Arguments{text("2019-12-20T00:01:30Z")});
  // The line is down, and so what is armed would not go.
  CHECK(Booth::in(state, "alarms").arguments == Arguments{number(2)});
}

TEST_CASE("changes in quick succession are squashed into the newest, every 50 ms at most") {
  Booth booth;
  booth.send(subscribe);
  booth.pass(Feedback::shortest_pause);
  booth.states(booth.desk);
  // A lock and an unlock every 10 ms for a second.
  for (int i = 0; i < 100; ++i) {
    booth.send({i % 2 == 0 ? "/catwalk/lock" : "/catwalk/unlock", {}});
    booth.pass(10ms);
  }
  const auto states = booth.states(booth.desk);
  CHECK(states.size() > 5);
  CHECK(states.size() <= 21);
  booth.pass(Feedback::shortest_pause);
  booth.send({"/catwalk/lock", {}});
  booth.pass(Feedback::shortest_pause);
  CHECK(Booth::in(booth.states(booth.desk).back(), "lock").arguments[0] == Argument{number(1)});
}

TEST_CASE("a snapshot in which nothing is new for subscribers tells them nothing") {
  Booth booth;
  booth.send(subscribe);
  booth.states(booth.desk);
  for (int i = 0; i < 20; ++i) {
    booth.hall.give(rack::NodeReported{uid(1), booth.hall.nodes.at(1).reading()});
    booth.publish();
    booth.pass(100ms);
  }
  CHECK(booth.states(booth.desk).empty());
}

TEST_CASE("a state that does not change is told again every ten seconds, since one may get lost") {
  Booth booth;
  booth.send(subscribe);
  booth.states(booth.desk);
  booth.pass(10s - 1us);
  CHECK(booth.states(booth.desk).empty());
  booth.pass(1us);
  CHECK(booth.states(booth.desk).size() == 1);
  booth.pass(30s);
  CHECK(booth.states(booth.desk).size() == 3);
}

TEST_CASE("a subscription ends after 60 s unless it is renewed") {
  Booth booth;
  booth.send(subscribe);
  booth.pass(59s);
  booth.send(subscribe);
  booth.states(booth.desk);
  booth.pass(59s);
  CHECK_FALSE(booth.states(booth.desk).empty());
  booth.pass(1s);
  booth.states(booth.desk);
  booth.send({"/catwalk/lock", {}});
  booth.pass(60s);
  CHECK(booth.states(booth.desk).empty());
  CHECK_FALSE(booth.control.deadline());
}

TEST_CASE("a configured subscriber is told without asking, and for ever") {
  const Peer board{"10.0.0.9", 9000};
  Booth booth{called_show(), {{{"10.0.0.1", {}}, {"10.0.0.9", {}}}, {board}}};
  CHECK(booth.states(board).size() == 1);
  booth.pass(24h);
  booth.states(board);
  booth.send({"/catwalk/lock", {}});
  REQUIRE(booth.states(board).size() == 1);
  booth.send(unsubscribe, board);
  CHECK(Booth::outcome(booth.replies(board).at(0)) == "refused");
  booth.send(subscribe, board);
  booth.pass(120s);
  booth.states(board);
  booth.send({"/catwalk/unlock", {}});
  CHECK(booth.states(board).size() == 1);
}

TEST_CASE("the state goes to another port of the sender if asked for") {
  Booth booth;
  booth.send({"/catwalk/subscribe", {number(8001)}});
  const Peer panel{"10.0.0.1", 8001};
  CHECK(booth.states(panel).size() == 1);
  CHECK(booth.states(booth.desk).empty());
  booth.send(unsubscribe);
  CHECK(Booth::sentence(booth.replies().back()) == "10.0.0.1:53000 had not subscribed.");
  booth.send({"/catwalk/unsubscribe", {number(8001)}});
  CHECK(Booth::outcome(booth.replies().back()) == "done");
  booth.send({"/catwalk/lock", {}});
  CHECK(booth.states(panel).empty());
}

TEST_CASE("64 may subscribe beside those configured, and whoever is one may renew") {
  Booth booth;
  for (std::int32_t port = 1; port <= 64; ++port)
    booth.send({"/catwalk/subscribe", {number(port)}});
  booth.replies();
  booth.send({"/catwalk/subscribe", {number(65)}});
  CHECK(Booth::outcome(booth.replies().at(0)) == "busy");
  booth.send({"/catwalk/subscribe", {number(64)}});
  CHECK(Booth::outcome(booth.replies().at(0)) == "done");
}

TEST_CASE("replies and states are counted, and what could not be sent too") {
  Booth booth;
  booth.send(subscribe);
  CHECK(booth.control.counters().sent == 2);
  booth.control.not_sent();
  CHECK(booth.control.counters().unsent == 1);
  const auto figures = booth.control.counters().figures();
  CHECK(figures.size() == 10);
  CHECK(figures[0] == std::pair<std::string, std::uint64_t>{"received", 1});
}
