// SPDX-License-Identifier: Apache-2.0
// What a search of a serial line tells of the nodes that it finds, and what a command makes of one
// that is in no file: in virtual time, with honest nodes and with others.
#include <doctest/doctest.h>

#include <map>
#include <string>

#include "tests/support/drivers.hpp"

using namespace catwalk;
using namespace catwalk::drivers;
using namespace std::chrono_literals;
using protocol::Address;
using protocol::NodeUid;
using test::Bench;
using test::found_in;
using test::uid_of;

namespace {

SimulatedNode unlisted(std::size_t index, std::optional<Address> address) {
  return {uid_of(index), address, "plover-fixed", "", std::nullopt, false};
}

// A line of two nodes at 1 and 2, and others that it was not told of.
class BusSearch {
 public:
  explicit BusSearch(std::vector<SimulatedNode> others) : bench_{config(std::move(others))} {
    bench_.run_for(1s);
    bench_.log.clear();
  }

  std::map<NodeUid, NodeDiscovered> search() {
    bench_.bus.discover(bench_.now());
    REQUIRE(bench_.run_until([&] { return bench_.count<DiscoveryEnded>() == 1; }, 20s));
    auto found = found_in(bench_.log);
    CHECK(bench_.find<DiscoveryEnded>()->found == found.size());
    CHECK(bench_.find<DiscoveryEnded>()->trouble == "");
    CHECK(bench_.count<NodeDiscovered>() == found.size());
    bench_.log.clear();
    return found;
  }
  bool blinks(NodeUid uid) {
    return bench_.bus.node(uid)->reading(bench_.now()).telemetry.locating;
  }
  std::optional<protocol::Answer> locate(NodeUid uid) {
    bench_.submit(9, uid, protocol::Locate{30});
    REQUIRE(bench_.run_until([&] { return bench_.ends(9) == 1; }, 20s));
    return bench_.answer_to(9);
  }

  Bench& bench() { return bench_; }
  EmulatedNode& node(std::size_t index) { return *bench_.bus.node(uid_of(index)); }

 private:
  static SimulatedLineConfig config(std::vector<SimulatedNode> others) {
    auto config = test::line_of(2);
    for (auto& other : others) config.nodes.push_back(std::move(other));
    return config;
  }
  Bench bench_;
};

}  // namespace

TEST_CASE("a search on the line tells what each node is, and what is in doubt") {
  BusSearch line{{unlisted(10, Address{40}), unlisted(11, std::nullopt), unlisted(12, Address{50}),
                  unlisted(13, Address{50}), unlisted(14, Address{60})}};
  test::give_address(line.node(14), Address{2});  // where one of the line's own is
  line.bench().run_for(3s);
  line.bench().log.clear();
  const auto found = line.search();
  REQUIRE(found.size() == 7);

  CHECK(found.at(uid_of(0)).known);
  CHECK(found.at(uid_of(0)).doubt == Doubt::none);
  REQUIRE(found.at(uid_of(0)).identity);
  CHECK(found.at(uid_of(0)).identity->type == "tern-inline");
  CHECK_FALSE(found.at(uid_of(0)).endpoint);

  const auto& clean = found.at(uid_of(10));
  CHECK_FALSE(clean.known);
  CHECK(clean.address == Address{40});
  CHECK(clean.doubt == Doubt::none);
  REQUIRE(clean.identity);
  CHECK(clean.identity->type == "plover-fixed");
  CHECK(clean.identity->uid == uid_of(10));

  CHECK(found.at(uid_of(11)).address == Address::unassigned());
  CHECK(found.at(uid_of(11)).doubt == Doubt::no_address);
  for (const std::size_t twin : {12U, 13U}) {
    CHECK(found.at(uid_of(twin)).doubt == Doubt::address_shared);
    CHECK_FALSE(found.at(uid_of(twin)).identity);
  }
  CHECK_FALSE(found.at(uid_of(14)).known);
}

TEST_CASE("an address that one of the line's own has is not one to be asked at") {
  BusSearch line{{unlisted(10, Address{40})}};
  line.node(1).silence(true);  // its own is not there to defend it
  test::give_address(line.node(10), Address{2});
  // Before the line polls, finds the other at that address and sends it away.
  line.bench().bus.discover(line.bench().now());
  REQUIRE(line.bench().run_until([&] { return line.bench().count<DiscoveryEnded>() == 1; }, 20s));
  const auto found = found_in(line.bench().log);
  REQUIRE(found.contains(uid_of(10)));
  const auto& row = found.at(uid_of(10));
  CHECK((row.doubt == Doubt::address_shared || row.address != Address{2}));
}

TEST_CASE("a wrong answer costs the row of who gives it, in words") {
  const auto row_of = [](EmulatedNode::Mouth mouth) {
    BusSearch line{{unlisted(10, Address{40}), unlisted(11, Address{41})}};
    line.node(10).speak_through([mouth = std::move(mouth)](protocol::Reply reply) {
      const bool asked_who = std::holds_alternative<protocol::Identity>(reply);
      return asked_who ? mouth(std::move(reply)) : reply;
    });
    auto found = line.search();
    REQUIRE(found.size() == 4);
    CHECK(found.at(uid_of(11)).doubt == Doubt::none);
    CHECK(line.bench().count<NodeSilent>() == 0);
    return found.at(uid_of(10));
  };
  SUBCASE("another uid") {
    const auto row = row_of([](protocol::Reply reply) {
      std::get<protocol::Identity>(reply).uid = uid_of(0);
      return reply;
    });
    CHECK(row.doubt == Doubt::another_answers);
    CHECK_FALSE(row.identity);
  }
  SUBCASE("a type that no wire carries") {
    const auto row = row_of([](protocol::Reply reply) {
      std::get<protocol::Identity>(reply).type = "\x1b]0;tern\x07";
      return reply;
    });
    CHECK(row.doubt == Doubt::not_understood);
  }
  SUBCASE("a refusal") {
    const auto row = row_of([](protocol::Reply) -> protocol::Reply {
      return protocol::Refusal{protocol::RefusalReason::unknown_message, 0};
    });
    CHECK(row.doubt == Doubt::not_understood);
  }
  SUBCASE("wait, for ever") {
    const auto row = row_of([](protocol::Reply) -> protocol::Reply { return protocol::Wait{20}; });
    CHECK(row.doubt == Doubt::no_answer);
  }
  for (const auto doubt : {Doubt::no_address, Doubt::address_shared, Doubt::no_answer,
                           Doubt::another_answers, Doubt::not_understood, Doubt::not_asked})
    CHECK(sentence_of(doubt).ends_with('.'));
  CHECK(sentence_of(Doubt::none).empty());
}

TEST_CASE("a node that is found and then falls silent is told of without its type") {
  BusSearch line{{unlisted(10, Address{40})}};
  line.node(10).speak_through([&](protocol::Reply reply) {
    // To the one thing that it was told to do: be mute.
    if (std::holds_alternative<protocol::Done>(reply)) line.node(10).silence(true);
    return reply;
  });
  line.bench().bus.discover(line.bench().now());
  REQUIRE(line.bench().run_until([&] { return line.bench().count<DiscoveryEnded>() == 1; }, 20s));
  const auto found = found_in(line.bench().log);
  REQUIRE(found.contains(uid_of(10)));
  CHECK(found.at(uid_of(10)).doubt == Doubt::no_answer);
  CHECK(found.at(uid_of(10)).address == Address{40});
}

TEST_CASE("what was found before the line went down is told, and the search ends once") {
  BusSearch line{{unlisted(10, Address{40})}};
  bool is_asked = false;
  line.node(10).speak_through([&](protocol::Reply reply) {
    is_asked = is_asked || std::holds_alternative<protocol::Identity>(reply);
    return reply;
  });
  line.bench().bus.discover(line.bench().now());
  REQUIRE(line.bench().run_until([&] { return is_asked; }, 5s));
  line.bench().bus.unplug(line.bench().now());
  line.bench().run_for(1s);
  CHECK(line.bench().count<DiscoveryEnded>() == 1);
  CHECK(line.bench().find<DiscoveryEnded>()->found == 3);
  const auto found = found_in(line.bench().log);
  CHECK(found.size() == 3);
  REQUIRE(found.contains(uid_of(10)));
  CHECK(found.at(uid_of(10)).doubt == Doubt::not_asked);
}

TEST_CASE("a node that a search found blinks, whatever its address, and is not polled") {
  BusSearch line{{unlisted(10, Address{40}), unlisted(11, std::nullopt), unlisted(12, Address{50}),
                  unlisted(13, Address{50})}};
  CHECK(line.search().size() == 6);
  for (const std::size_t index : {10U, 11U, 12U, 13U}) {
    CAPTURE(index);
    line.bench().log.clear();
    const auto answer = line.locate(uid_of(index));
    REQUIRE(answer);
    CHECK(std::holds_alternative<protocol::Done>(*answer));
    CHECK(line.blinks(uid_of(index)));
    // Its row is as it is now.
    const auto told = found_in(line.bench().log);
    REQUIRE(told.contains(uid_of(index)));
    CHECK(told.at(uid_of(index)).doubt == Doubt::none);
    REQUIRE(told.at(uid_of(index)).identity);
    CHECK(told.at(uid_of(index)).address == line.node(index).memory().address);
  }
  CHECK(line.node(10).memory().address == Address{40});  // it was good
  std::map<Address, int> addresses;
  for (const std::size_t index : {0U, 1U, 10U, 11U, 12U, 13U}) {
    CHECK(line.node(index).memory().address.is_assignable());
    ++addresses[line.node(index).memory().address];
  }
  CHECK(addresses.size() == 6);  // no two have the same any more

  line.bench().log.clear();
  line.bench().run_for(10s);
  CHECK(line.bench().count<NodeSilent>() == 0);
  for (const auto& [at, notice] : line.bench().log) {
    if (const auto* read = std::get_if<NodeRead>(&notice))
      CHECK((read->node == uid_of(0) || read->node == uid_of(1)));
  }
  for (const auto& [uid, row] : line.search()) CHECK(row.doubt == Doubt::none);
}

TEST_CASE("what a search has not found is unknown, and a stranger's settings are not touched") {
  BusSearch line{{unlisted(10, Address{40})}};
  auto& bench = line.bench();
  const auto fault_of = [&](CommandId id, NodeUid uid, protocol::Ask request) {
    bench.submit(id, uid, std::move(request));
    bench.run_for(1s);
    CHECK(bench.ends(id) == 1);
    for (const auto& [at, notice] : bench.log) {
      const auto* failed = std::get_if<CommandFailed>(&notice);
      if (failed != nullptr && failed->id == id) return std::optional{failed->fault};
    }
    return std::optional<Fault>{};
  };
  CHECK(fault_of(1, uid_of(10), protocol::Locate{3}) == Fault::node_unknown);
  CHECK(line.search().size() == 3);
  CHECK(fault_of(2, uid_of(11), protocol::Locate{3}) == Fault::node_unknown);
  CHECK(fault_of(3, uid_of(10), protocol::Locate{3}) == std::nullopt);
  // It is borrowed by now, and still none of ours.
  CHECK(fault_of(4, uid_of(10), protocol::Apply{{1}, {1}}) == Fault::node_unknown);
  CHECK(fault_of(5, uid_of(10), protocol::Store{{1}}) == Fault::node_unknown);
  line.node(10).silence(true);
  CHECK(fault_of(6, uid_of(0), protocol::Identify{}) == std::nullopt);
  bench.submit(7, uid_of(10), protocol::Locate{3});
  REQUIRE(bench.run_until([&] { return bench.ends(7) == 1; }, 20s));
  bench.run_for(10s);
  CHECK(bench.count<NodeSilent>() == 0);
}
