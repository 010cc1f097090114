// SPDX-License-Identifier: Apache-2.0
// The controller of nodes behind datagrams, against emulated nodes, in virtual time.
#include <doctest/doctest.h>

#include <map>

#include "tests/support/datagram_bench.hpp"

using namespace catwalk;
using namespace catwalk::drivers;
using namespace std::chrono_literals;
using protocol::NodeUid;
using test::DatagramBench;
using test::uid_of;

namespace {

protocol::Stage stage(const EmulatedNode& node, std::uint32_t epoch, std::uint32_t ticket,
                      std::int16_t gain) {
  protocol::Settings settings = node.settings();
  settings.gain_cdb = gain;
  return {{epoch}, {ticket}, settings};
}

template <class T>
bool answered_with(const DatagramBench& bench, CommandId id) {
  const auto answer = bench.answer_to(id);
  return answer && std::holds_alternative<T>(*answer);
}

Endpoint port(std::uint16_t number) { return Endpoint{{}, number}; }

}  // namespace

TEST_CASE(
    "every node is identified, then read, and its reading never grows older than configured") {
  DatagramBench bench{40};
  bench.run_for(5s);
  CHECK(bench.count<NodeIdentified>() == 40);
  CHECK(bench.count<NodeSilent>() == 0);
  std::map<NodeUid, TimePoint> last;
  for (const auto& [at, notice] : bench.log) {
    const auto* read = std::get_if<NodeRead>(&notice);
    if (read == nullptr) continue;
    if (last.contains(read->node)) CHECK(at - last[read->node] < 1s);
    last[read->node] = at;
  }
  CHECK(last.size() == 40);
}

TEST_CASE("a switch of 256 nodes is one broadcast for whoever asks") {
  DatagramBench bench{256};
  bench.run_for(1s);
  for (std::size_t i = 0; i < 256; ++i) {
    bench.submit(1000 + i, uid_of(i), stage(*bench.nodes[i], 7, 5, 600));
  }
  bench.submit(1, NodeUid::everyone(), protocol::Apply{{7}, {5}});
  REQUIRE(bench.run_until([&] { return bench.ends(1) == 1; }, 1s));
  bench.run_for(50ms);
  for (const auto& node : bench.nodes) CHECK(node->settings().gain_cdb == 600);
}

TEST_CASE("a knob turned at the node is heard of at once") {
  auto bench = DatagramBench{2};
  bench.run_for(2s);
  bench.log.clear();
  protocol::Settings turned = bench.nodes[0]->settings();
  turned.gain_cdb = 900;
  REQUIRE_FALSE(bench.nodes[0]->turn(turned));
  const auto heard = [&] {
    const auto* read = bench.find<NodeRead>();
    return read != nullptr && read->node == uid_of(0) &&
           test::amplifier_in(*read).settings.gain_cdb == 900 &&
           test::amplifier_in(*read).telemetry.locally_changed;
  };
  CHECK(bench.run_until(heard, 5ms));
}

TEST_CASE("a node that moves to another port is followed by its next authentic datagram") {
  DatagramBench bench{2};
  bench.run_for(1s);
  bench.ports[1] = 9'999;
  bench.log.clear();
  REQUIRE_FALSE(bench.nodes[1]->turn(bench.nodes[1]->settings()));  // its report comes from there
  bench.run_for(3s);
  CHECK(bench.count<NodeSilent>() == 0);
  bench.submit(1, uid_of(1), protocol::Identify{});
  CHECK(bench.run_until([&] { return bench.ends(1) == 1; }, 1s));
  CHECK(answered_with<protocol::Identity>(bench, 1));
}

TEST_CASE("a datagram that is not authentic moves no node") {
  DatagramBench bench{1};
  bench.run_for(1s);
  auto forged = bench.recorded_to_controller.back();
  forged.back() ^= 1;
  bench.engine.received(forged, port(6'666), bench.now());
  CHECK(bench.engine.counters().forged == 1);
  bench.engine.received(bench.recorded_to_controller.back(), port(6'666), bench.now());
  CHECK(bench.engine.counters().replayed == 1);
  bench.submit(1, uid_of(0), protocol::Identify{});
  CHECK(bench.run_until([&] { return bench.ends(1) == 1; }, 100ms));
  CHECK(answered_with<protocol::Identity>(bench, 1));
}

TEST_CASE("what was recorded is dropped and counted on both sides, and so is what comes too late") {
  DatagramBench bench{1};
  bench.run_for(60s);  // more than 64 datagrams
  REQUIRE(bench.recorded_to_nodes.size() > 100);
  for (const auto& old : bench.recorded_to_nodes) {
    CHECK_FALSE(bench.sides[0]->receive(old, bench.now()).reply);
  }
  CHECK(bench.sides[0]->faults().replayed == bench.recorded_to_nodes.size());
  const auto before = bench.engine.counters().replayed;
  for (const auto& old : bench.recorded_to_controller) {
    bench.engine.received(old, port(7'000), bench.now());
  }
  CHECK(bench.engine.counters().replayed - before == bench.recorded_to_controller.size());
}

TEST_CASE("a restarted node is told its own session, and the command goes through") {
  DatagramBench bench{1};
  bench.run_for(1s);
  bench.submit(1, uid_of(0), stage(*bench.nodes[0], 7, 1, 600));
  REQUIRE(bench.run_until([&] { return bench.ends(1) == 1; }, 1s));
  bench.reports_here[0] = false;  // its report of the restart gets lost
  bench.nodes[0]->restart(bench.now());
  bench.submit(2, uid_of(0), stage(*bench.nodes[0], 7, 2, 700));
  bench.submit(3, uid_of(0), protocol::Apply{{7}, {2}});
  REQUIRE(bench.run_until([&] { return bench.ends(3) == 1; }, 1s));
  CHECK(answered_with<protocol::Done>(bench, 2));
  CHECK(answered_with<protocol::Done>(bench, 3));
  CHECK(bench.nodes[0]->settings().gain_cdb == 700);
  bench.run_for(1s);
  CHECK(bench.count<NodeIdentified>() == 2);
}

TEST_CASE("what was recorded before a restart of the node cannot act after it") {
  DatagramBench bench{1};
  bench.run_for(1s);
  bench.recorded_to_nodes.clear();
  bench.submit(1, uid_of(0), stage(*bench.nodes[0], 7, 1, 600));
  bench.submit(2, uid_of(0), protocol::Apply{{7}, {1}});
  REQUIRE(bench.run_until([&] { return bench.ends(2) == 1; }, 1s));
  REQUIRE(bench.nodes[0]->settings().gain_cdb == 600);

  bench.nodes[0]->restart(bench.now());
  REQUIRE(bench.nodes[0]->settings().gain_cdb == 0);
  int refused = 0;
  for (const auto& old : bench.recorded_to_nodes) {
    const auto heard = bench.sides[0]->receive(old, bench.now());
    CHECK_FALSE(heard.report_here);
    if (!heard.reply) continue;
    const auto opened =
        protocol::open(*heard.reply, protocol::Direction::to_controller, test::test_key());
    const auto packet = protocol::decode(opened->packet);
    REQUIRE(packet);
    const auto* refusal =
        std::get_if<protocol::Refusal>(&std::get<protocol::Reply>(packet->message));
    if (refusal != nullptr && refusal->reason == protocol::RefusalReason::session_unknown) {
      CHECK(refusal->detail == 2);
      ++refused;
    }
  }
  CHECK(refused >= 2);
  CHECK(bench.nodes[0]->settings().gain_cdb == 0);
  CHECK(bench.nodes[0]->reading(bench.now()).staged.value == 0);
}

TEST_CASE("a report to another controller is not believed, but makes the node be asked") {
  DatagramBench bench{1};
  bench.run_for(1s);
  bench.log.clear();
  protocol::Reading lie = bench.nodes[0]->reading(bench.now());
  lie.settings.gain_cdb = 2'700;
  const protocol::Envelope envelope{protocol::Direction::to_controller, uid_of(0), 1, 6, 60};
  const auto bytes = protocol::seal(
      envelope, protocol::encode({{}, protocol::Reply{protocol::Report{lie}}}), test::test_key());
  bench.engine.received(bytes, port(7'000), bench.now());
  REQUIRE(bench.run_until([&] { return bench.count<NodeRead>() == 1; }, 5ms));
  CHECK(test::amplifier_in(*bench.find<NodeRead>()).settings.gain_cdb == 0);
}

TEST_CASE("a controller that was overtaken is refused and told so, and changes nothing") {
  DatagramBench bench{1};
  bench.run_for(1s);
  bench.submit(1, uid_of(0), stage(*bench.nodes[0], 7, 1, 600));
  REQUIRE(bench.run_until([&] { return bench.ends(1) == 1; }, 1s));
  // Another one, with a higher epoch, speaks to the node.
  const protocol::Envelope envelope{protocol::Direction::to_node, uid_of(0), 8, 1, 1};
  const auto claim = protocol::seal(
      envelope, protocol::encode({{}, protocol::Request{stage(*bench.nodes[0], 8, 1, 900)}}),
      test::test_key());
  REQUIRE(bench.sides[0]->receive(claim, bench.now()).reply);
  bench.submit(2, uid_of(0), protocol::Apply{{7}, {1}});
  REQUIRE(bench.run_until([&] { return bench.ends(2) == 1; }, 2s));
  REQUIRE(answered_with<protocol::Refusal>(bench, 2));
  const auto refusal = std::get<protocol::Refusal>(*bench.answer_to(2));
  CHECK(refusal == protocol::Refusal{protocol::RefusalReason::epoch_too_low, 8});
  CHECK(bench.nodes[0]->settings().gain_cdb == 0);
}

TEST_CASE("a silent node is told of once, asked ever more seldom, and found again when back") {
  DatagramBench bench{3};
  bench.run_for(1s);
  bench.nodes[2]->silence(true);
  bench.run_for(5s);
  const auto sent = bench.engine.counters().frames_sent;
  bench.run_for(60s);
  CHECK(bench.count<NodeSilent>() == 1);
  CHECK(bench.find<NodeSilent>()->node == uid_of(2));
  // Two nodes twice a second, and the silent one every 8 s.
  CHECK(bench.engine.counters().frames_sent - sent < 2 * 125 + 12);
  bench.log.clear();
  bench.nodes[2]->silence(false);
  CHECK(bench.run_until([&] { return bench.count<NodeIdentified>() == 1; }, 8'500ms));
}

TEST_CASE("a node far away, 0.9 s there and back, that was silent is found again when it is back") {
  DatagramBench bench{1};
  bench.one_way = 450ms;
  REQUIRE(bench.run_until([&] { return bench.count<NodeRead>() == 1; }, 10s));
  bench.nodes[0]->silence(true);
  REQUIRE(bench.run_until([&] { return bench.count<NodeSilent>() == 1; }, 20s));
  bench.log.clear();
  bench.nodes[0]->silence(false);
  CHECK(bench.run_until([&] { return bench.count<NodeIdentified>() == 1; }, 20s));
  CHECK(bench.run_until([&] { return bench.count<NodeRead>() >= 3; }, 20s));
  CHECK(bench.count<NodeSilent>() == 0);
}

TEST_CASE("a node that is still silent when its line comes back is told of again") {
  DatagramBench bench{1};
  bench.run_for(1s);
  bench.nodes[0]->silence(true);
  REQUIRE(bench.run_until([&] { return bench.count<NodeSilent>() == 1; }, 5s));
  bench.engine.down(bench.now(), "the socket is gone");
  bench.engine.up(bench.now());
  CHECK(bench.run_until([&] { return bench.count<NodeSilent>() == 2; }, 5s));
}

TEST_CASE("a node that is read by a command and then silent again is told of again") {
  DatagramBench bench{1};
  bench.run_for(1s);
  bench.nodes[0]->silence(true);
  REQUIRE(bench.run_until([&] { return bench.count<NodeSilent>() == 1; }, 5s));
  bench.run_for(500ms);
  bench.log.clear();
  // Just long enough for one question.
  bench.nodes[0]->silence(false);
  bench.submit(1, uid_of(0), protocol::Read{});
  REQUIRE(bench.run_until([&] { return answered_with<protocol::Reading>(bench, 1); }, 100ms));
  bench.nodes[0]->silence(true);
  REQUIRE(bench.count<NodeIdentified>() == 0);
  CHECK(bench.run_until([&] { return bench.count<NodeSilent>() == 1; }, 10s));
}

TEST_CASE("a node that has moved and is silent there is looked for where it was configured too") {
  DatagramBench bench{1};
  bench.run_for(1s);
  bench.ports[0] = 9'999;
  REQUIRE_FALSE(bench.nodes[0]->turn(bench.nodes[0]->settings()));  // its report comes from there
  bench.run_for(1s);
  // It is back, and has forgotten whom to tell.
  bench.ports[0] = 7'000;
  bench.reports_here[0] = false;
  REQUIRE(bench.run_until([&] { return bench.count<NodeSilent>() == 1; }, 5s));
  bench.log.clear();
  CHECK(bench.run_until([&] { return bench.count<NodeIdentified>() == 1; }, 5s));
}

TEST_CASE("a node whose address nobody knows is met when it reports") {
  DatagramConfig config = DatagramBench::config_for(1, 7);
  config.nodes[0].endpoint.reset();
  DatagramEngine engine{config};
  const TimePoint now{std::chrono::hours{1}};
  engine.up(now);
  CHECK(engine.take().send.empty());
  engine.submit({1, uid_of(0), protocol::Identify{}}, now);
  const auto failed = engine.take().notices;
  REQUIRE(failed.size() == 1);
  CHECK(std::get<CommandFailed>(failed[0]).fault == Fault::timed_out);

  NodeConfig node_config;
  node_config.uid = uid_of(0);
  node_config.type = *built_in_type("gull-integral");
  EmulatedNode node{node_config, factory_memory(node_config, protocol::Address::unassigned()), now};
  NodeOnDatagrams side{node, test::test_key(), now};
  const auto report = side.report(now);
  REQUIRE(report);
  engine.received(*report, port(4'321), now);
  const auto asked = engine.take().send;
  REQUIRE(asked.size() == 1);
  CHECK(asked[0].to == port(4'321));
}

TEST_CASE("a search tells known nodes from strangers with the same key") {
  DatagramBench bench{3};
  DatagramConfig config = DatagramBench::config_for(2, 9);
  config.search_points = {port(7'002)};  // where the third one is
  bench.engine = DatagramEngine{config};
  bench.engine.up(bench.now());
  bench.run_for(1s);
  bench.log.clear();
  bench.discover();
  REQUIRE(bench.run_until([&] { return bench.count<DiscoveryEnded>() == 1; }, 2s));
  CHECK(bench.find<DiscoveryEnded>()->found == 3);
  std::map<NodeUid, bool> found;
  for (const auto& [at, notice] : bench.log) {
    if (const auto* node = std::get_if<NodeDiscovered>(&notice)) found[node->node] = node->known;
  }
  CHECK(found == std::map<NodeUid, bool>{{uid_of(0), true}, {uid_of(1), true}, {uid_of(2), false}});
  bench.run_for(2s);
  CHECK(bench.count<NodeSilent>() == 0);  // the search has not upset the counters
}

TEST_CASE("a line that goes down ends every command once") {
  DatagramBench bench{2};
  bench.run_for(1s);
  for (CommandId id = 1; id <= 6; ++id) bench.submit(id, uid_of(id % 2), protocol::Identify{});
  bench.submit(7, NodeUid::everyone(), protocol::Apply{{7}, {1}});
  bench.engine.down(bench.now(), "the socket is gone");
  bench.submit(8, uid_of(0), protocol::Identify{});
  for (CommandId id = 1; id <= 8; ++id) {
    CAPTURE(id);
    CHECK(bench.ends(id) == 1);
  }
  CHECK(bench.count<LineDown>() == 1);
}
