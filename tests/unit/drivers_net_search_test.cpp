// SPDX-License-Identifier: Apache-2.0
// What a search of a network tells of the nodes that it finds, and what a command makes of one that
// is in no file: in virtual time, with honest nodes and with strangers that have the key.
#include <doctest/doctest.h>

#include <map>
#include <optional>

#include "tests/support/datagram_bench.hpp"

using namespace catwalk;
using namespace catwalk::drivers;
using namespace std::chrono_literals;
using protocol::Address;
using protocol::NodeUid;
using test::DatagramBench;
using test::found_in;
using test::uid_of;

namespace {

Endpoint port(std::uint16_t number) { return Endpoint{{}, number}; }

// An engine of two nodes, behind which a third has its key but no place in the file; it hears what
// is sent to port 7002.
struct NetSearch {
  DatagramBench bench{3};

  NetSearch() {
    bench.engine = DatagramEngine{DatagramBench::config_for(2, 9)};
    bench.engine.up(bench.now());
    bench.run_for(1s);
    bench.log.clear();
  }

  void begin() {
    bench.engine.discover(bench.now(), {port(7'002)});
    const auto opened = protocol::open(call(), protocol::Direction::to_node, test::test_key());
    REQUIRE(opened);
    CHECK(opened->envelope.session == 0);  // a visitor's
    number = opened->envelope.counter;
    asked = protocol::decode(opened->packet);
  }
  std::map<NodeUid, NodeDiscovered> end() {
    REQUIRE(bench.run_until([&] { return bench.count<DiscoveryEnded>() == 1; }, 2s));
    return found_in(bench.log);
  }
  // What somebody with the key may say.
  void say(NodeUid as, protocol::Reply reply, std::uint32_t counter = 1,
           std::optional<std::uint32_t> to = {}) {
    const protocol::Envelope envelope{protocol::Direction::to_controller, as, 1,
                                      to.value_or(number), counter};
    const auto bytes = protocol::seal(
        envelope,
        protocol::encode(protocol::Packet{{{}, asked->header.sequence}, std::move(reply)}),
        test::test_key());
    bench.engine.received(bytes, port(6'666), bench.now());
  }

  std::uint32_t number = 0;  // that an answer repeats

 private:
  protocol::Bytes call() {
    auto out = bench.engine.take();
    REQUIRE_FALSE(out.send.empty());
    protocol::Bytes bytes;
    for (auto& one : out.send) {
      if (protocol::claimed_uid(one.bytes) == NodeUid::everyone()) bytes = one.bytes;
      bench.to_nodes.send(std::move(one.bytes), bench.now(), 100us, one.to.port);
    }
    REQUIRE_FALSE(bytes.empty());
    return bytes;
  }
  Result<protocol::Packet, protocol::ParseError> asked =
      protocol::decode(protocol::encode({{}, protocol::Request{protocol::Identify{}}}));
};

protocol::Identity identity_of(NodeUid uid) {
  return {uid, Address::unassigned(), 1, 0x0203, "heron-mast"};
}

}  // namespace

TEST_CASE("a search of a network finds nodes with no endpoint, and tells what and where they are") {
  NetSearch net;
  net.begin();
  const auto found = net.end();
  REQUIRE(found.size() == 3);
  CHECK(found.at(uid_of(0)).known);
  CHECK(found.at(uid_of(0)).endpoint == port(7'000));
  const auto& stranger = found.at(uid_of(2));
  CHECK_FALSE(stranger.known);
  CHECK(stranger.doubt == Doubt::none);
  CHECK(stranger.endpoint == port(7'002));
  REQUIRE(stranger.identity);
  CHECK(stranger.identity->type == "tern-inline");
  CHECK(stranger.identity->firmware != 0);
}

TEST_CASE("a line that knows no node yet is searched again and again") {
  DatagramBench bench{1};
  bench.engine = DatagramEngine{DatagramBench::config_for(0, 9)};
  bench.engine.up(bench.now());
  for (std::size_t round = 1; round <= 3; ++round) {
    bench.engine.discover(bench.now(), {port(7'000)});
    REQUIRE(bench.run_until([&] { return bench.count<DiscoveryEnded>() == round; }, 2s));
    CHECK(bench.count<NodeDiscovered>() == round);
  }
}

TEST_CASE("what strangers say under the key is one row each, in words if it is not right") {
  NetSearch net;
  net.begin();
  net.say(uid_of(20), identity_of(uid_of(21)));  // in another's name
  net.say(uid_of(22), protocol::Refusal{protocol::RefusalReason::malformed, 3});
  net.say(uid_of(23), protocol::Wait{1});
  net.say(uid_of(23), identity_of(uid_of(23)), 2);  // on second thoughts
  for (std::uint32_t counter = 1; counter <= 50; ++counter)
    net.say(uid_of(24), identity_of(uid_of(24)), counter);
  net.say(uid_of(25), identity_of(uid_of(25)), 1, net.number + 1);  // a recording
  net.say(uid_of(26), protocol::Report{}, 1);
  const auto found = net.end();
  CHECK(found.at(uid_of(20)).doubt == Doubt::another_answers);
  CHECK_FALSE(found.at(uid_of(20)).identity);
  CHECK(found.at(uid_of(22)).doubt == Doubt::not_understood);
  CHECK(found.at(uid_of(23)).doubt == Doubt::none);
  CHECK(found.at(uid_of(24)).identity == identity_of(uid_of(24)));
  CHECK_FALSE(found.contains(uid_of(21)));
  CHECK_FALSE(found.contains(uid_of(25)));
  CHECK(found.at(uid_of(26)).doubt == Doubt::not_understood);
  std::size_t rows = 0;
  for (const auto& [at, notice] : net.bench.log) {
    const auto* one = std::get_if<NodeDiscovered>(&notice);
    if (one != nullptr && one->node == uid_of(24)) ++rows;
  }
  CHECK(rows == 1);
  CHECK(net.bench.find<DiscoveryEnded>()->trouble == "");
  CHECK(net.bench.count<NodeSilent>() == 0);
}

TEST_CASE("a flood of strangers is bounded in rows and in datagrams, and said") {
  NetSearch net;
  net.begin();
  SUBCASE("more nodes than any line has") {
    for (std::size_t i = 0; i < most_discovered + 100; ++i)
      net.say(uid_of(1'000 + i), identity_of(uid_of(1'000 + i)));
    const auto found = net.end();
    CHECK(found.size() <= most_discovered + 2);
    CHECK(net.bench.find<DiscoveryEnded>()->trouble ==
          "more than 1024 nodes answer: the others are left out");
    CHECK(found.contains(uid_of(1)));  // the line's own are told of all the same
    // The next search has room again.
    net.bench.log.clear();
    net.begin();
    CHECK(net.end().contains(uid_of(2)));
  }
  SUBCASE("more datagrams than are worth opening") {
    for (std::uint32_t counter = 1; counter <= 10'000; ++counter)
      net.say(uid_of(30), identity_of(uid_of(30)), counter);
    CHECK(net.bench.engine.counters().thinned >= 6'000);
    const auto found = net.end();
    CHECK(found.contains(uid_of(0)));
    CHECK(found.contains(uid_of(1)));
    CHECK(net.bench.find<DiscoveryEnded>()->trouble.starts_with("more datagrams of strangers"));
    CHECK(net.bench.count<NodeSilent>() == 0);
  }
}

TEST_CASE("a node that a search of a network found blinks, and nothing else is asked of it") {
  NetSearch net;
  auto& bench = net.bench;
  bench.submit(1, uid_of(2), protocol::Locate{30});
  REQUIRE(bench.ends(1) == 1);
  net.begin();
  net.end();
  const auto faults = bench.sides[2]->faults();
  bench.submit(2, uid_of(2), protocol::Locate{30});
  REQUIRE(bench.run_until([&] { return bench.ends(2) == 1; }, 2s));
  REQUIRE(bench.answer_to(2));
  CHECK(std::holds_alternative<protocol::Done>(*bench.answer_to(2)));
  CHECK(bench.nodes[2]->reading(bench.now()).telemetry.locating);
  CHECK(bench.sides[2]->faults() == faults);

  // It has restarted since: its session is another.
  bench.nodes[2]->restart(bench.now());
  bench.submit(3, uid_of(2), protocol::Locate{30});
  REQUIRE(bench.run_until([&] { return bench.ends(3) == 1; }, 2s));
  CHECK(bench.nodes[2]->reading(bench.now()).telemetry.locating);

  bench.submit(4, uid_of(2), protocol::Store{{9}});
  CHECK(bench.ends(4) == 1);
  CHECK_FALSE(bench.answer_to(4));
  const auto sent_before = bench.recorded_to_nodes.size();
  bench.submit(5, NodeUid::everyone(), protocol::Apply{{9}, {1}});
  std::size_t to_the_stranger = 0;
  for (std::size_t i = sent_before; i < bench.recorded_to_nodes.size(); ++i)
    to_the_stranger += protocol::claimed_uid(bench.recorded_to_nodes[i]) == uid_of(2) ? 1 : 0;
  CHECK(to_the_stranger == 0);

  bench.log.clear();
  bench.run_for(10s);
  CHECK(bench.count<NodeSilent>() == 0);
  for (const auto& [at, notice] : bench.log) {
    if (const auto* read = std::get_if<NodeRead>(&notice)) CHECK(read->node != uid_of(2));
  }
  // It hears the next search, although it has heard more than that would have counted to.
  for (CommandId id = 20; id < 40; ++id) {
    bench.submit(id, uid_of(2), protocol::Identify{});
    REQUIRE(bench.run_until([&] { return bench.ends(id) == 1; }, 2s));
  }
  bench.log.clear();
  const auto replayed = bench.sides[2]->faults().replayed;
  net.begin();
  CHECK(net.end().contains(uid_of(2)));
  CHECK(bench.sides[2]->faults().replayed == replayed);
  bench.nodes[2]->silence(true);
  bench.submit(6, uid_of(2), protocol::Locate{30});
  REQUIRE(bench.run_until([&] { return bench.ends(6) == 1; }, 20s));
  CHECK_FALSE(bench.answer_to(6));
}
