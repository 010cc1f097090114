// SPDX-License-Identifier: Apache-2.0
// Nodes, and those who play them with recordings, that say what no honest node says. The engines,
// in virtual time.
#include <doctest/doctest.h>

#include <functional>
#include <limits>

#include "drivers/bus/bus_engine.hpp"
#include "protocol/reclaim.hpp"
#include "tests/support/datagram_bench.hpp"

using namespace catwalk;
using namespace catwalk::drivers;
using namespace std::chrono_literals;
using protocol::Key;
using protocol::NodeUid;
using test::DatagramBench;
using test::uid_of;

namespace {

constexpr std::uint16_t attacker_port = 6'666;
const Endpoint attacker{{}, attacker_port};
constexpr protocol::Epoch out_of_reach{std::numeric_limits<std::uint32_t>::max() - 1};

Key key_of(std::uint8_t byte) { return *Key::from_bytes(protocol::Bytes(32, byte)); }

// A datagram engine of one node, whose far end the test plays.
class PlayedNode : public test::Heard {
 public:
  using Answer = std::function<std::optional<protocol::Reply>(const protocol::Request&)>;

  explicit PlayedNode(Answer answer) : answer_{std::move(answer)}, engine_{config()} {
    engine_.up(now_);
  }

  void run_for(Micros time) {
    for (const TimePoint end = now_ + time; now_ < end;) {
      if (collect()) continue;
      now_ = std::min(std::max(now_, engine_.deadline().value_or(end)), end);
      engine_.tick(now_);
    }
    while (collect()) {
    }
  }
  // In answer to this controller, at once.
  void report(const protocol::Reading& reading) {
    say(protocol::Report{reading}, 0);
    while (collect()) {
    }
  }
  // It has started anew, as it says.
  void restart() { ++session_; }

 private:
  static DatagramConfig config() { return DatagramBench::config_for(1, 7); }

  // True: something was sent, and answered.
  bool collect() {
    auto out = engine_.take();
    for (auto& notice : out.notices) log.emplace_back(now_, std::move(notice));
    for (const auto& transmission : out.send) reply_to(transmission.bytes);
    return !out.send.empty();
  }

  void reply_to(const protocol::Bytes& bytes) {
    const auto datagram = protocol::open(bytes, protocol::Direction::to_node, test::test_key());
    REQUIRE(datagram);
    const auto packet = protocol::decode(datagram->packet);
    REQUIRE(packet);
    const auto reply = answer_(std::get<protocol::Request>(packet->message));
    if (reply) say(*reply, packet->header.sequence);
  }

  void say(const protocol::Reply& reply, std::uint8_t sequence) {
    const protocol::Envelope envelope{protocol::Direction::to_controller, uid_of(0), session_, 7,
                                      ++counter_};
    engine_.received(
        protocol::seal(envelope, protocol::encode({{{}, sequence}, reply}), test::test_key()),
        Endpoint{{}, 7'000}, now_);
  }

  Answer answer_;
  DatagramEngine engine_;
  TimePoint now_{std::chrono::hours{1}};
  std::uint32_t session_ = 1;
  std::uint32_t counter_ = 0;
};

std::optional<protocol::Reply> honest(const protocol::Request& request) {
  if (std::holds_alternative<protocol::Identify>(request))
    return protocol::Identity{uid_of(0), protocol::Address::unassigned(), 1, 0x0100, "tern-inline"};
  protocol::Reading reading;
  reading.telemetry.boots = 1;
  return reading;
}

// The bus with one node, which answers as the test says.
std::size_t silences_on_bus(const std::function<protocol::Reply(const protocol::Request&)>& answer,
                            Micros time, test::Log* log = nullptr,
                            std::optional<protocol::Ask> command = {}) {
  BusConfig config;
  config.nodes = {{uid_of(0), protocol::Address{1}}};
  BusEngine engine{config};
  TimePoint now{std::chrono::hours{1}};
  engine.up(now);
  std::size_t silences = 0;
  if (command) engine.submit({1, uid_of(0), *command}, now);
  for (const TimePoint end = now + time; now < end;) {
    engine.tick(now);
    auto out = engine.take();
    for (auto& notice : out.notices) {
      if (std::holds_alternative<NodeSilent>(notice)) ++silences;
      if (log != nullptr) log->emplace_back(now, std::move(notice));
    }
    for (const auto& transmission : out.send) {
      protocol::FrameReader reader;
      reader.feed(transmission.bytes, [&](protocol::ByteView bytes) {
        const auto asked = protocol::decode(bytes);
        REQUIRE(asked);
        now += 1ms;
        const auto reply = answer(std::get<protocol::Request>(asked->message));
        engine.received(protocol::to_frame(protocol::encode({asked->header, reply})), now);
      });
    }
    if (out.send.empty()) now = std::max(now, engine.deadline().value_or(end));
  }
  return silences;
}

}  // namespace

TEST_CASE(
    "what was recorded before a restart of the controller neither moves nor silences a node") {
  DatagramBench bench{3};
  bench.run_for(40s);
  const auto recorded = bench.recorded_to_controller;
  REQUIRE(recorded.size() > 3 * 62);
  // The controller starts anew, and hears the recordings from elsewhere before anything else.
  bench.engine = DatagramEngine{DatagramBench::config_for(3, 8)};
  bench.engine.up(bench.now());
  for (const auto& old : recorded) bench.engine.received(old, attacker, bench.now());
  bench.log.clear();
  bench.run_for(40s);
  CHECK(bench.count<NodeIdentified>() == 3);
  CHECK(bench.count<NodeSilent>() == 0);
  SUBCASE("nor do they in the middle of it") {
    for (int i = 0; i < 100; ++i) {
      for (const auto& old : recorded) bench.engine.received(old, attacker, bench.now());
      bench.run_for(100ms);
    }
    CHECK(bench.count<NodeSilent>() == 0);
    bench.submit(1, uid_of(0), protocol::Read{});
    CHECK(bench.run_until([&] { return bench.ends(1) == 1; }, 100ms));
  }
}

TEST_CASE("recordings draw no more than a few questions a second to where they come from") {
  DatagramBench bench{1};
  bench.run_for(15s);
  const auto recorded = bench.recorded_to_controller;
  bench.engine = DatagramEngine{DatagramBench::config_for(1, 8)};
  bench.engine.up(bench.now());
  const auto before = bench.engine.counters().frames_sent;
  for (int i = 0; i < 100; ++i) {
    for (const auto& old : recorded) bench.engine.received(old, attacker, bench.now());
    bench.run_for(100ms);
  }
  // Ten seconds: at most four rumours a second, each of one question to each of the two places.
  CHECK(bench.engine.counters().frames_sent - before <= 10 * 4 * 2 + 10 * 3);
}

TEST_CASE("a node that has restarted whenever it is asked is asked no more often than others") {
  // Each reading with other boots than the identity before it, and each identity with others again.
  std::uint32_t boots = 1;
  std::size_t asked = 0;
  const auto restless = [&](const protocol::Request& request) -> protocol::Reply {
    ++asked;
    auto reply = *honest(request);
    if (auto* identity = std::get_if<protocol::Identity>(&reply)) identity->boots = ++boots;
    if (auto* reading = std::get_if<protocol::Reading>(&reply)) reading->telemetry.boots = ++boots;
    return reply;
  };
  SUBCASE("on a bus") {
    silences_on_bus(restless, 60s);
    CHECK(asked > 60);
    CHECK(asked < 60 * 5);
  }
  SUBCASE("on datagrams, where every report has a session of its own") {
    PlayedNode node{[&](const protocol::Request& request) {
      ++asked;
      return honest(request);
    }};
    node.run_for(5s);
    asked = 0;
    for (int i = 0; i < 600; ++i) {
      node.restart();
      node.report({});
      node.run_for(100ms);
    }
    CHECK(asked > 60);
    CHECK(asked < 60 * 5);
  }
}

TEST_CASE("a node that puts every question off for ever is silent after the longest wait") {
  const protocol::Reply wait = protocol::Wait{10};
  const auto waits_when_read = [&](const protocol::Request& request) -> protocol::Reply {
    if (std::holds_alternative<protocol::Read>(request)) return wait;
    return *honest(request);
  };
  SUBCASE("on datagrams, when it is read") {
    PlayedNode node{waits_when_read};
    node.run_for(9s);
    CHECK(node.count<NodeSilent>() == 0);
    node.run_for(3s);
    CHECK(node.count<NodeSilent>() == 1);
  }
  SUBCASE("on datagrams, when it is asked who it is") {
    PlayedNode node{[&](const protocol::Request&) { return wait; }};
    node.run_for(12s);
    CHECK(node.count<NodeSilent>() == 1);
  }
  SUBCASE("on a bus, when it is read") {
    CHECK(silences_on_bus(waits_when_read, 9s) == 0);
    CHECK(silences_on_bus(waits_when_read, 12s) == 1);
  }
  SUBCASE("on a bus, when it is asked who it is; and a command for it ends") {
    test::Log log;
    CHECK(silences_on_bus([&](const protocol::Request&) { return wait; }, 30s, &log,
                          protocol::Locate{1}) == 1);
    CHECK(test::ends_in(log, 1) == 1);
  }
  SUBCASE("one that waits now and then is not") {
    int asked = 0;
    const auto now_and_then = [&](const protocol::Request& request) -> protocol::Reply {
      return ++asked % 3 != 0 ? wait : *honest(request);
    };
    CHECK(silences_on_bus(now_and_then, 60s) == 0);
    PlayedNode node{now_and_then};
    node.run_for(60s);
    CHECK(node.count<NodeSilent>() == 0);
  }
}

TEST_CASE("a node that reports without end is heeded now and then, its newest report last") {
  protocol::Reading reading;
  reading.telemetry.boots = 1;
  PlayedNode node{[&](const protocol::Request& request) -> std::optional<protocol::Reply> {
    if (std::holds_alternative<protocol::Read>(request)) return reading;
    return honest(request);
  }};
  node.run_for(2s);
  node.log.clear();
  // 400 a second for ten seconds.
  for (int i = 0; i < 4'000; ++i) {
    reading.telemetry.supply_ma = static_cast<std::uint16_t>(i);
    node.report(reading);
    node.run_for(2'500us);
  }
  // Ten a second until it is known to babble, then one; and its polls.
  CHECK(node.count<NodeRead>() < 40);
  REQUIRE(node.count<NodeBabbles>() == 1);
  node.run_for(2s);
  std::uint16_t newest = 0;
  for (const auto& [at, notice] : node.log)
    if (const auto* read = std::get_if<NodeRead>(&notice)) {
      CHECK(test::amplifier_in(*read).telemetry.supply_ma >=
            newest);  // none is older than one before
      newest = test::amplifier_in(*read).telemetry.supply_ma;
    }
  CHECK(newest == 3'999);
  SUBCASE("and is calm again after a calm while") {
    node.run_for(11s);
    REQUIRE(node.count<NodeBabbles>() == 2);
    bool babbles = true;
    for (const auto& [at, notice] : node.log)
      if (const auto* told = std::get_if<NodeBabbles>(&notice)) babbles = told->babbles;
    CHECK_FALSE(babbles);
  }
}

TEST_CASE("a single report is heeded at once, and the second of two close ones soon after") {
  PlayedNode node{honest};
  node.run_for(2s);
  node.log.clear();
  protocol::Reading reading;
  reading.telemetry.boots = 1;
  node.report(reading);
  CHECK(node.count<NodeRead>() == 1);
  reading.telemetry.supply_ma = 7;
  node.report(reading);
  CHECK(node.count<NodeRead>() == 1);
  node.run_for(101ms);
  REQUIRE(node.count<NodeRead>() == 2);
  CHECK(test::amplifier_in(std::get<NodeRead>(node.log.back().second)).telemetry.supply_ma == 7);
  CHECK(node.count<NodeBabbles>() == 0);
}

// ---- keys of nodes, and the way back ------------------------------------------------------------

TEST_CASE("who has the line's key can neither read, change nor play a node with a key of its own") {
  DatagramBench bench{2};
  bench.sides[0] =
      std::make_unique<NodeOnDatagrams>(*bench.nodes[0], test::test_key(), bench.now(), key_of(1));
  auto config = DatagramBench::config_for(2, 9);
  config.nodes[0].key = key_of(1);
  bench.engine = DatagramEngine{config};
  bench.engine.up(bench.now());
  bench.log.clear();
  bench.run_for(2s);
  CHECK(bench.count<NodeIdentified>() == 2);
  CHECK(bench.count<NodeSilent>() == 0);

  SUBCASE("a request under the line's key is dropped, whatever its session") {
    const protocol::Envelope envelope{protocol::Direction::to_node, uid_of(0), out_of_reach.value,
                                      1, 1};
    const auto request = protocol::seal(
        envelope, protocol::encode({{}, protocol::Request{protocol::Read{}}}), test::test_key());
    const auto before = bench.sides[0]->faults().forged;
    CHECK_FALSE(bench.sides[0]->receive(request, bench.now()).reply);
    CHECK(bench.sides[0]->faults().forged == before + 1);
  }
  SUBCASE("a search under it is answered, and costs the controller nothing") {
    const protocol::Envelope envelope{protocol::Direction::to_node, NodeUid::everyone(),
                                      out_of_reach.value, 0, 1};
    const auto search =
        protocol::seal(envelope, protocol::encode({{}, protocol::Request{protocol::Identify{}}}),
                       test::test_key());
    const auto heard = bench.sides[0]->receive(search, bench.now());
    REQUIRE(heard.reply);
    CHECK_FALSE(heard.report_here);
    CHECK(protocol::open(*heard.reply, protocol::Direction::to_controller, test::test_key()));
    CHECK_FALSE(bench.sides[0]->receive(search, bench.now()).reply);  // once only
    bench.submit(1, uid_of(0), protocol::Locate{3});
    REQUIRE(bench.run_until([&] { return bench.ends(1) == 1; }, 1s));
    CHECK(std::holds_alternative<protocol::Done>(*bench.answer_to(1)));
  }
  SUBCASE("a reading under it is forged") {
    const protocol::Envelope envelope{protocol::Direction::to_controller, uid_of(0), 1, 9, 1'000};
    const auto lie = protocol::seal(
        envelope, protocol::encode({{}, protocol::Reply{protocol::Report{}}}), test::test_key());
    const auto before = bench.engine.counters().forged;
    bench.engine.received(lie, attacker, bench.now());
    CHECK(bench.engine.counters().forged == before + 1);
  }
  SUBCASE("the controller finds both in a search") {
    bench.discover();
    REQUIRE(bench.run_until([&] { return bench.count<DiscoveryEnded>() == 1; }, 2s));
    CHECK(bench.find<DiscoveryEnded>()->found == 2);
    CHECK(bench.engine.counters().forged == 0);
  }
}

TEST_CASE("a node whose epoch is out of reach obeys again when it is reclaimed with its key") {
  DatagramBench bench{1};
  bench.run_for(1s);
  // Something else than a controller has told it so, and it has been kept.
  const protocol::Envelope envelope{protocol::Direction::to_node, uid_of(0), out_of_reach.value, 1,
                                    1};
  const auto claim = protocol::seal(
      envelope, protocol::encode({{}, protocol::Request{protocol::Store{out_of_reach}}}),
      test::test_key());
  REQUIRE(bench.sides[0]->receive(claim, bench.now()).reply);
  REQUIRE(bench.nodes[0]->memory().epoch == out_of_reach);
  bench.submit(1, uid_of(0), protocol::Locate{3});
  REQUIRE(bench.run_until([&] { return bench.ends(1) == 1; }, 2s));
  REQUIRE(std::holds_alternative<protocol::Refusal>(*bench.answer_to(1)));
  REQUIRE(bench.run_until([&] { return bench.find<OtherSpeaks>() != nullptr; }, 10s));
  CHECK(bench.find<OtherSpeaks>()->epoch == out_of_reach);

  bench.recorded_to_nodes.clear();
  bench.submit(2, uid_of(0), protocol::Reclaim{{7}, out_of_reach, 0, {}});
  REQUIRE(bench.run_until([&] { return bench.ends(2) == 1; }, 2s));
  CHECK(std::holds_alternative<protocol::Done>(*bench.answer_to(2)));
  CHECK(bench.nodes[0]->memory().epoch == protocol::Epoch{7});
  bench.log.clear();
  REQUIRE(bench.run_until([&] { return bench.count<NodeRead>() > 0; }, 10s));
  bench.submit(3, uid_of(0), protocol::Locate{3});
  REQUIRE(bench.run_until([&] { return bench.ends(3) == 1; }, 2s));
  CHECK(std::holds_alternative<protocol::Done>(*bench.answer_to(3)));

  SUBCASE("what was recorded of that leads down no second time") {
    const protocol::Envelope next{protocol::Direction::to_node, uid_of(0), 8, 1, 1};
    const auto other = protocol::seal(
        next, protocol::encode({{}, protocol::Request{protocol::Store{{8}}}}), test::test_key());
    REQUIRE(bench.sides[0]->receive(other, bench.now()).reply);
    for (const auto& old : bench.recorded_to_nodes) (void)bench.sides[0]->receive(old, bench.now());
    CHECK(bench.nodes[0]->memory().epoch == protocol::Epoch{8});
  }
  SUBCASE("without the right key it does not") {
    protocol::Reclaim forged{{1}, {7}, bench.nodes[0]->boots(), {}};
    forged.proof = protocol::proof_of(forged, uid_of(0), key_of(2));
    const Arrival arrival{Arrival::Way::addressed, 0, true, 0};
    const auto reply = bench.nodes[0]->answer(
        protocol::encode({{{5}, 1}, protocol::Request{forged}}), arrival, bench.now());
    REQUIRE(reply);
    CHECK(
        std::get<protocol::Refusal>(std::get<protocol::Reply>(protocol::decode(*reply)->message)) ==
        protocol::Refusal{protocol::RefusalReason::proof_wrong, 7});
    CHECK(bench.nodes[0]->memory().epoch == protocol::Epoch{7});
  }
}

TEST_CASE("a reclaim on a serial line needs a key, which the line says before it asks the node") {
  BusConfig config;
  config.nodes = {{uid_of(0), protocol::Address{1}}, {uid_of(1), protocol::Address{2}, key_of(3)}};
  BusEngine engine{config};
  const TimePoint now{std::chrono::hours{1}};
  engine.up(now);
  (void)engine.take();
  engine.submit({1, uid_of(0), protocol::Reclaim{{7}, out_of_reach, 0, {}}}, now);
  const auto told = engine.take().notices;
  REQUIRE(told.size() == 1);
  CHECK(std::get<CommandFailed>(told[0]).fault == Fault::no_key);
  engine.submit({2, uid_of(1), protocol::Reclaim{{7}, out_of_reach, 0, {}}}, now);
  CHECK(engine.take().notices.empty());
}
