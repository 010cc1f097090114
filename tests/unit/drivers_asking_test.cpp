// SPDX-License-Identifier: Apache-2.0
// A controller that has just started asks whom the nodes obey before it speaks to them
// (PROTOCOL.md, sections 5 and 8).
#include <doctest/doctest.h>

#include <set>

#include "drivers/bus/bus_engine.hpp"
#include "protocol/codec.hpp"
#include "protocol/frame.hpp"
#include "tests/support/datagram_bench.hpp"

using namespace catwalk;
using namespace catwalk::drivers;
using namespace std::chrono_literals;
using protocol::ControllerHeard;
using protocol::NodeUid;
using protocol::Request;
using test::DatagramBench;
using test::test_key;
using test::uid_of;

namespace {

protocol::OurEpochs ours(std::initializer_list<std::uint32_t> epochs) {
  protocol::OurEpochs all;
  for (const auto epoch : epochs) all.add({epoch});
  return all;
}

DatagramConfig asking(std::size_t count, std::uint32_t epoch, protocol::OurEpochs before = {}) {
  auto config = DatagramBench::config_for(count, epoch);
  config.asks_first = true;
  config.ours = std::move(before);
  return config;
}

// What a node says to a datagram; nothing if it says nothing. `counter` is the sender's.
struct Heard {
  protocol::Envelope envelope;
  protocol::Reply reply;
};
std::optional<Heard> say(NodeOnDatagrams& node, std::uint32_t session, std::uint32_t peer,
                         std::uint32_t counter, const Request& request, TimePoint now) {
  const protocol::Envelope envelope{protocol::Direction::to_node, uid_of(0), session, peer,
                                    counter};
  const auto answer =
      node.receive(protocol::seal(envelope, protocol::encode({{{}, 9}, request}), test_key()), now);
  CHECK_FALSE((session == 0 && answer.report_here));
  if (!answer.reply) return std::nullopt;
  const auto opened = protocol::open(*answer.reply, protocol::Direction::to_controller, test_key());
  REQUIRE(opened);
  const auto packet = protocol::decode(opened->packet);
  REQUIRE(packet);
  CHECK(packet->header.sequence == 9);
  return Heard{opened->envelope, std::get<protocol::Reply>(packet->message)};
}

// Another controller reads node i, which answers.
void read_as(DatagramBench& bench, std::size_t i, std::uint32_t session, std::uint32_t counter,
             TimePoint at) {
  const protocol::Envelope envelope{protocol::Direction::to_node, uid_of(i), session,
                                    bench.nodes[i]->boots(), counter};
  const auto bytes =
      protocol::seal(envelope, protocol::encode({{}, Request{protocol::Read{}}}), test_key());
  REQUIRE(bench.sides[i]->receive(bytes, at).reply);
}
// The same of all nodes of the bench, as it would with a poll.
void poll_as(DatagramBench& bench, std::uint32_t session, std::uint32_t counter) {
  for (std::size_t i = 0; i < bench.sides.size(); ++i)
    read_as(bench, i, session, counter, bench.now());
}

std::set<std::uint32_t> sessions_sent(const DatagramBench& bench) {
  std::set<std::uint32_t> sessions;
  for (const auto& bytes : bench.recorded_to_nodes) {
    const auto opened = protocol::open(bytes, protocol::Direction::to_node, test_key());
    if (opened) sessions.insert(opened->envelope.session);
  }
  return sessions;
}

protocol::Bytes frame_of(const Request& request, std::uint8_t address = 1) {
  return protocol::to_frame(protocol::encode({{{address}, 3}, request}));
}

template <class T>
std::size_t count_in(const std::vector<Notice>& notices) {
  return static_cast<std::size_t>(std::ranges::count_if(
      notices, [](const Notice& notice) { return std::holds_alternative<T>(notice); }));
}

}  // namespace

TEST_CASE("a node tells a visitor whom it obeys, and nothing of that changes anything in it") {
  DatagramBench bench{1};
  auto& node = *bench.sides[0];
  const auto boots = bench.nodes[0]->boots();
  const auto t = bench.now();
  const auto ask = [&](TimePoint at, std::uint32_t number) {
    const auto heard = say(node, 0, 0, number, protocol::AskController{}, at);
    REQUIRE(heard);
    CHECK(heard->envelope.peer_session == number);  // no recording can have it
    return std::get<ControllerHeard>(heard->reply);
  };
  CHECK(ask(t, 0xCAFEBABE) == ControllerHeard{{0}, ControllerHeard::never});
  REQUIRE(say(node, 7, boots, 1, protocol::Read{}, t));
  CHECK(ask(t + 412ms, 5) == ControllerHeard{{7}, 412});
  CHECK(ask(t + 90s, 6) == ControllerHeard{{7}, 90'000});
  // A visitor reads and asks who is there; all else is refused, and the controller goes on.
  const auto reading = say(node, 0, 0, 8, protocol::Read{}, t);
  REQUIRE(reading);
  CHECK(std::holds_alternative<protocol::Reading>(reading->reply));
  for (const Request& request : {Request{protocol::Locate{3}}, Request{protocol::Store{{9}}},
                                 Request{protocol::Stage{{9}, {1}, bench.nodes[0]->settings()}}}) {
    const auto refused = say(node, 0, boots, 9, request, t);
    REQUIRE(refused);
    CHECK(std::get<protocol::Refusal>(refused->reply).reason ==
          protocol::RefusalReason::unknown_message);
  }
  CHECK(bench.nodes[0]->memory().epoch == protocol::Epoch{0});
  CHECK_FALSE(bench.nodes[0]->reading(t).telemetry.locating);
  const auto next = say(node, 7, boots, 2, protocol::AskController{}, t);
  REQUIRE(next);
  CHECK(std::get<ControllerHeard>(next->reply) == ControllerHeard{{7}, 0});
}

TEST_CASE("a node answers 20 visitors a second at most, and its controller beside them") {
  DatagramBench bench{1};
  const auto ask = [&](TimePoint at) {
    return say(*bench.sides[0], 0, 0, 77, protocol::AskController{}, at).has_value();
  };
  const auto t = bench.now() + 10s;
  int answered = 0;
  for (int i = 0; i < 500; ++i) answered += ask(t + i * 1ms);
  CHECK(answered == 20);
  CHECK(say(*bench.sides[0], 7, bench.nodes[0]->boots(), 1, protocol::Read{}, t + 500ms));
  CHECK(ask(t + 1001ms));
}

TEST_CASE("a node that was restarted does not know when it heard of anybody") {
  DatagramBench bench{1};
  REQUIRE(say(*bench.sides[0], 7, bench.nodes[0]->boots(), 1, protocol::Store{{7}}, bench.now()));
  bench.nodes[0]->restart(bench.now());
  const auto heard = say(*bench.sides[0], 0, 0, 1, protocol::AskController{}, bench.now() + 1s);
  REQUIRE(heard);
  CHECK(std::get<ControllerHeard>(heard->reply) == ControllerHeard{{7}, ControllerHeard::never});
}

TEST_CASE("where nobody else speaks all are asked at once, and spoken to when that is told") {
  std::uint32_t spoken = 0;
  protocol::OurEpochs before = ours({7});
  SUBCASE("the nodes are new") { before = {}; }
  SUBCASE("they obey what we said before a restart") { spoken = 7; }
  SUBCASE("a crash came before a word under the last") {
    spoken = 7;
    before.add({8});
  }
  DatagramBench bench{asking(3, 9, before)};
  if (spoken != 0) poll_as(bench, spoken, 1);
  REQUIRE(bench.run_until([&] { return bench.count<LineAsked>() == 1; }, 1s));
  CHECK(bench.now() < TimePoint{std::chrono::hours{1}} + 50ms);
  CHECK(bench.count<OtherSpeaks>() == 0);
  CHECK(sessions_sent(bench) == std::set<std::uint32_t>{0});
  bench.submit(1, uid_of(0), protocol::Locate{3});
  CHECK(bench.ends(1) == 1);  // not before we may speak
  bench.engine.speak_as({9}, false, bench.now());
  bench.submit(2, uid_of(0), protocol::Locate{3});
  REQUIRE(bench.run_until([&] { return bench.ends(2) == 1; }, 1s));
  CHECK(std::holds_alternative<protocol::Done>(*bench.answer_to(2)));
  REQUIRE(bench.run_until([&] { return bench.count<NodeRead>() >= 3; }, 2s));
  CHECK(bench.count<LineAsked>() == 1);
}

TEST_CASE("nodes that another controller speaks to are read as a visitor, until it is overtaken") {
  DatagramBench bench{asking(2, 9, ours({5}))};
  poll_as(bench, 7, 1);
  REQUIRE(bench.run_until([&] { return bench.count<OtherSpeaks>() == 2; }, 1s));
  CHECK(bench.find<OtherSpeaks>()->epoch == protocol::Epoch{7});
  REQUIRE(bench.find<OtherSpeaks>()->ago_ms);
  CHECK(*bench.find<OtherSpeaks>()->ago_ms < 1'000);
  REQUIRE(bench.run_until([&] { return bench.count<NodeRead>() >= 6; }, 10s));
  // Told to speak where nobody else does, it leaves these alone.
  bench.engine.speak_as({9}, false, bench.now());
  bench.run_for(5s);
  CHECK(sessions_sent(bench) == std::set<std::uint32_t>{0});
  bench.submit(1, uid_of(0), protocol::Locate{3});
  REQUIRE(bench.ends(1) == 1);
  poll_as(bench, 7, 2);  // the other one is still obeyed
  bench.engine.speak_as({10}, true, bench.now());
  bench.submit(2, uid_of(0), protocol::Locate{3});
  REQUIRE(bench.run_until([&] { return bench.ends(2) == 1; }, 2s));
  CHECK(std::holds_alternative<protocol::Done>(*bench.answer_to(2)));
  CHECK(sessions_sent(bench) == std::set<std::uint32_t>{0, 10});
}

TEST_CASE("a node that another controller takes over is read as a visitor from then on") {
  DatagramBench bench{asking(2, 9, ours({5}))};
  REQUIRE(bench.run_until([&] { return bench.count<LineAsked>() == 1; }, 1s));
  bench.engine.speak_as({9}, false, bench.now());
  REQUIRE(bench.run_until([&] { return bench.count<NodeRead>() >= 2; }, 2s));
  poll_as(bench, 12, 1);
  REQUIRE(bench.run_until([&] { return bench.count<OtherSpeaks>() == 2; }, 2s));
  CHECK(bench.find<OtherSpeaks>()->epoch == protocol::Epoch{12});
  bench.log.clear();
  REQUIRE(bench.run_until([&] { return bench.count<NodeRead>() >= 6; }, 10s));
  CHECK(bench.count<NodeSilent>() == 0);
  bench.submit(1, uid_of(0), protocol::Locate{3});
  REQUIRE(bench.ends(1) == 1);
  CHECK(bench.count<CommandFailed>() == 1);

  // The other has been silent for long, and its epoch stands all the same.
  bench.run_for(90s);
  bench.log.clear();
  bench.run_for(20s);
  REQUIRE(bench.count<OtherSpeaks>() >= 2);
  CHECK(*bench.find<OtherSpeaks>()->ago_ms > 60'000);
  CHECK(bench.count<NodeFree>() == 0);
  bench.engine.speak_as({13}, true, bench.now());
  bench.submit(2, uid_of(0), protocol::Locate{3});
  REQUIRE(bench.run_until([&] { return bench.ends(2) == 1; }, 2s));
  CHECK(std::holds_alternative<protocol::Done>(*bench.answer_to(2)));
}

TEST_CASE("who falls quiet ends what is under way, and reads on as a visitor") {
  DatagramBench bench{asking(2, 9, ours({5}))};
  REQUIRE(bench.run_until([&] { return bench.count<LineAsked>() == 1; }, 1s));
  bench.engine.speak_as({9}, false, bench.now());
  REQUIRE(bench.run_until([&] { return bench.count<NodeRead>() >= 2; }, 2s));
  bench.nodes[1]->silence(true);
  bench.submit(1, uid_of(1), protocol::Locate{3});
  bench.run_for(10ms);
  REQUIRE(bench.ends(1) == 0);
  bench.engine.fall_quiet(bench.now());
  bench.run_for(0s);
  CHECK(bench.ends(1) == 1);
  bench.recorded_to_nodes.clear();
  bench.log.clear();
  bench.nodes[1]->silence(false);
  REQUIRE(bench.run_until([&] { return bench.count<NodeRead>() >= 6; }, 10s));
  CHECK(sessions_sent(bench) == std::set<std::uint32_t>{0});
}

TEST_CASE("one that was heard a minute ago speaks no more, and a silent node holds nobody up") {
  DatagramBench bench{asking(2, 9, ours({5}))};
  bench.run_for(0s);
  bench.nodes[1]->silence(true);
  read_as(bench, 0, 7, 1, bench.now() - 60s);
  REQUIRE(bench.run_until([&] { return bench.count<LineAsked>() == 1; }, 1s));
  CHECK(bench.count<OtherSpeaks>() == 0);
  REQUIRE(bench.run_until([&] { return bench.count<NodeSilent>() == 1; }, 10s));
  bench.engine.speak_as({9}, false, bench.now());
  // It comes back while another controller speaks to it: it is asked before it is spoken to.
  bench.nodes[1]->silence(false);
  read_as(bench, 1, 6, 1, bench.now());
  REQUIRE(bench.run_until([&] { return bench.count<OtherSpeaks>() == 1; }, 20s));
  CHECK(bench.find<OtherSpeaks>()->node == uid_of(1));
}

TEST_CASE("a recorded answer to a visitor is believed by no other") {
  DatagramBench first{asking(1, 9, ours({5}))};
  poll_as(first, 7, 1);
  REQUIRE(first.run_until([&] { return first.count<OtherSpeaks>() == 1; }, 1s));
  auto config = asking(1, 9, ours({5}));
  config.visitor_seed = 2;
  DatagramBench second{config};
  second.nodes[0]->silence(true);
  for (const auto& recorded : first.recorded_to_controller)
    second.engine.received(recorded, Endpoint{{}, 7000}, second.now());
  REQUIRE(second.run_until([&] { return second.count<LineAsked>() == 1; }, 10s));
  CHECK(second.count<OtherSpeaks>() == 0);
  CHECK(second.count<NodeRead>() == 0);
}

TEST_CASE("a serial line is listened to before a word is said there") {
  BusConfig config;
  config.nodes = {{uid_of(0), protocol::Address{1}}};
  config.asks_first = true;
  BusEngine engine{config};
  auto now = TimePoint{std::chrono::hours{1}};
  engine.up(now);
  const auto until = engine.deadline();
  REQUIRE(until);
  CHECK(*until - now == config.listen);

  SUBCASE("nothing is heard but noise: it is free, and spoken on when that is told") {
    const protocol::Bytes noise{0x31, 0x00, 0x07, 0x01, 0x05, 0x00};
    engine.received(noise, now + 10ms);
    engine.tick(*until);
    auto out = engine.take();
    CHECK(out.send.empty());
    CHECK(count_in<LineAsked>(out.notices) == 1);
    CHECK(count_in<OtherSpeaks>(out.notices) == 0);
    engine.tick(*until + 5s);
    CHECK(engine.take().send.empty());
    engine.speak_as({9}, false, *until + 5s);
    CHECK(engine.take().send.size() == 1);
  }
  SUBCASE("somebody asks there: it keeps quiet until it takes over") {
    engine.received(frame_of(protocol::Read{}), now + 300ms);
    auto out = engine.take();
    CHECK(out.send.empty());
    CHECK(count_in<OtherSpeaks>(out.notices) == 1);
    CHECK(count_in<LineAsked>(out.notices) == 0);
    engine.speak_as({9}, false, now + 400ms);
    engine.submit({1, uid_of(0), protocol::Locate{3}}, now + 400ms);
    engine.discover(now + 400ms);
    engine.received(frame_of(protocol::Read{}), now + 500ms);
    engine.tick(now + 20s);
    out = engine.take();
    CHECK(out.send.empty());
    REQUIRE(out.notices.size() == 2);
    CHECK(std::get<CommandFailed>(out.notices[0]).fault == Fault::other_speaks);
    CHECK(std::get<DiscoveryEnded>(out.notices[1]).trouble ==
          "another controller speaks on the line");
    engine.speak_as({9}, true, now + 20s);
    CHECK(engine.take().send.size() == 1);
  }
  SUBCASE("only nodes answer there, late: that is nobody who asks") {
    engine.received(
        protocol::to_frame(protocol::encode({{{1}, 3}, protocol::Reply{protocol::Done{}}})),
        now + 300ms);
    engine.tick(*until);
    CHECK(count_in<OtherSpeaks>(engine.take().notices) == 0);
  }
}

TEST_CASE("what was asked for while a line is listened to ends when another is heard there") {
  BusConfig config;
  config.nodes = {{uid_of(0), protocol::Address{1}}};
  config.asks_first = config.speaks = true;
  BusEngine engine{config};
  const auto now = TimePoint{std::chrono::hours{1}};
  engine.up(now);
  engine.submit({1, uid_of(0), protocol::Locate{3}}, now + 10ms);
  engine.discover(now + 20ms);
  CHECK(engine.take().send.empty());
  engine.received(frame_of(protocol::Read{}), now + 300ms);
  const auto out = engine.take();
  CHECK(out.send.empty());
  CHECK(count_in<CommandFailed>(out.notices) == 1);
  CHECK(count_in<DiscoveryEnded>(out.notices) == 1);
  engine.speak_as({9}, true, now + 1h);
  const auto later = engine.take();
  REQUIRE(later.send.size() == 1);  // a question, and no old command
  CHECK(later.send[0].bytes ==
        protocol::to_frame(protocol::encode({{{1}, 0}, Request{protocol::Identify{}}})));
}

TEST_CASE(
    "a serial line falls quiet in the middle of a word, and tells now and then who is heard") {
  BusConfig config;
  config.nodes = {{uid_of(0), protocol::Address{1}}};
  BusEngine engine{config};
  const auto now = TimePoint{std::chrono::hours{1}};
  engine.up(now);
  engine.submit({1, uid_of(0), protocol::Locate{3}}, now);
  const auto said = engine.take().send.at(0).bytes;
  engine.fall_quiet(now + 1ms);
  CHECK(count_in<CommandFailed>(engine.take().notices) == 1);
  // Many adapters hear what they say themselves.
  engine.received(said, now + 2ms);
  CHECK(count_in<OtherSpeaks>(engine.take().notices) == 0);
  CHECK_FALSE(engine.deadline());
  std::size_t told = 0;
  for (auto at = now + 1s; at < now + 21s; at += 100ms) {
    engine.received(frame_of(protocol::Read{}), at);
    engine.tick(at);
    const auto out = engine.take();
    CHECK(out.send.empty());
    told += count_in<OtherSpeaks>(out.notices);
  }
  CHECK(told == 4);
  engine.submit({2, uid_of(0), protocol::Locate{3}}, now + 21s);
  CHECK(count_in<CommandFailed>(engine.take().notices) == 1);
  engine.speak_as({9}, true, now + 22s);
  CHECK(engine.take().send.size() == 1);
}

TEST_CASE("another epoch of ours is not spoken under before the next question is due") {
  DatagramBench bench{2};
  REQUIRE(bench.run_until([&] { return bench.count<NodeRead>() == 2; }, 1s));
  bench.run_for(100ms);
  bench.engine.speak_as({8}, false, bench.now());
  CHECK(bench.engine.take().send.empty());
}

TEST_CASE(
    "a line that is opened anew knows its nodes by the epoch before, whoever tells it again") {
  auto config = asking(1, 9, ours({7}));
  config.speaks = true;
  DatagramBench bench{config};
  poll_as(bench, 7, 1);
  bench.engine.speak_as({9}, false, bench.now());
  bench.submit(1, uid_of(0), protocol::Locate{3});
  REQUIRE(bench.run_until([&] { return bench.ends(1) == 1; }, 1s));
  CHECK(std::holds_alternative<protocol::Done>(*bench.answer_to(1)));
  CHECK(bench.count<OtherSpeaks>() == 0);
}

TEST_CASE("a node that puts the question off for ever keeps nobody waiting") {
  DatagramBench bench{asking(1, 9)};
  bench.nodes[0]->speak_through([](protocol::Reply) { return protocol::Wait{255}; });
  bench.engine.speak_as({9}, false, bench.now());
  bench.submit(1, uid_of(0), protocol::Locate{3});
  REQUIRE(bench.run_until([&] { return bench.ends(1) == 1; }, 30s));
  CHECK(bench.count<LineAsked>() == 1);
  CHECK_FALSE(sessions_sent(bench).contains(9));
}

TEST_CASE("where nobody knows what was spoken under, nodes are taken for ours") {
  DatagramBench bench{asking(1, 9, protocol::OurEpochs{protocol::OurEpochs::unknown})};
  poll_as(bench, 7, 1);
  REQUIRE(bench.run_until([&] { return bench.count<LineAsked>() == 1; }, 1s));
  CHECK(bench.count<OtherSpeaks>() == 0);
}
