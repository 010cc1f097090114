// SPDX-License-Identifier: Apache-2.0
// A search of a network on the loopback interface: nodes whose endpoints nobody knows are found by
// the group and by the broadcast address, and answer from their own.
#include <doctest/doctest.h>

#include <array>
#include <asio/buffer.hpp>
#include <asio/io_context.hpp>
#include <functional>

#include "drivers/datagrams/udp_line.hpp"
#include "drivers/line/endpoint_asio.hpp"
#include "drivers/line/networks.hpp"
#include "drivers/node/node_sockets.hpp"
#include "tests/support/datagram_bench.hpp"
#include "tests/support/listener.hpp"

using namespace catwalk;
using namespace catwalk::drivers;
using namespace std::chrono_literals;
using Udp = asio::ip::udp;
using test::uid_of;

namespace {

// One node at a free port of this address.
class UdpNode {
 public:
  UdpNode(asio::io_context& io, const std::string& address)
      : sockets_{*open_node_sockets(io, {address, 0})} {
    CHECK(sockets_.unheard == "");
    for (std::size_t i = 0; i < sockets_.all.size(); ++i) wait(i);
  }

  std::uint16_t port() const { return sockets_.all.front().local_endpoint().port(); }
  EmulatedNode& node() { return node_; }
  // How many datagrams came to an address that is not its own.
  std::size_t heard_at(const std::string& address) const {
    std::size_t count = 0;
    for (std::size_t i = 0; i < sockets_.all.size(); ++i)
      if (sockets_.all[i].local_endpoint().address().to_string() == address) count += heard_[i];
    return count;
  }

 private:
  static NodeConfig config() {
    NodeConfig config;
    config.uid = uid_of(7);
    config.type = *built_in_type("gull-integral");
    return config;
  }
  void wait(std::size_t i) {
    sockets_.all[i].async_wait(Udp::socket::wait_read, [this, i](const asio::error_code& error) {
      if (error) return;
      Udp::endpoint from;
      asio::error_code failed;
      const auto n = sockets_.all[i].receive_from(asio::buffer(bytes_), from, 0, failed);
      if (!failed) {
        ++heard_[i];
        const auto heard = side_.receive(protocol::ByteView{bytes_}.first(n), Clock::now());
        if (heard.reply) sockets_.all.front().send_to(asio::buffer(*heard.reply), from);
      }
      wait(i);
    });
  }

  NodeSockets sockets_;
  EmulatedNode node_{config(), factory_memory(config(), protocol::Address::unassigned()),
                     Clock::now()};
  NodeOnDatagrams side_{node_, test::test_key(), Clock::now()};
  std::array<std::uint8_t, 256> bytes_{};
  std::array<std::size_t, 8> heard_{};
};

// Searches at once.
struct Searcher : test::Listener {
  explicit Searcher(asio::io_context& the_io, std::uint16_t search_port)
      : Listener{the_io}, line{io, config(search_port)} {
    line.start(handler());
    line.discover();
  }
  // How many the search has found; nothing: it does not end.
  std::optional<std::size_t> found() {
    const bool ended = wait([&] { return find<DiscoveryEnded>() != nullptr; });
    return ended ? std::optional{find<DiscoveryEnded>()->found} : std::nullopt;
  }
  static UdpLineConfig config(std::uint16_t search_port) {
    UdpLineConfig config{.key = test::test_key()};
    config.bind_address = "127.0.0.1";
    config.epoch = 3;
    config.search_port = search_port;
    return config;
  }

  UdpLine line;
};

}  // namespace

TEST_CASE("a node bound to one address hears a search by the group and by broadcast") {
  asio::io_context io;
  UdpNode node{io, "127.0.0.1"};
  Searcher searcher{io, node.port()};
  REQUIRE(searcher.found() == 1);
  const auto* found = searcher.find<NodeDiscovered>();
  REQUIRE(found != nullptr);
  CHECK(found->node == uid_of(7));
  CHECK_FALSE(found->known);
  CHECK(found->doubt == Doubt::none);
  REQUIRE(found->identity);
  CHECK(found->identity->type == "gull-integral");
  REQUIRE(found->endpoint);
  CHECK(text_of(*found->endpoint) == "127.0.0.1:" + std::to_string(node.port()));
  CHECK(node.heard_at("127.255.255.255") >= 1);
  CHECK(node.heard_at("239.192.67.87") >= 1);
  CHECK(node.heard_at("127.0.0.1") == 0);

  searcher.line.submit({1, uid_of(7), protocol::Locate{30}});
  REQUIRE(searcher.wait([&] { return searcher.ends(1) == 1; }));
  REQUIRE(searcher.answer_to(1));
  CHECK(node.node().reading(Clock::now()).telemetry.locating);
}

TEST_CASE("a node bound to every address hears a search on its own socket") {
  asio::io_context io;
  UdpNode node{io, "0.0.0.0"};
  Searcher searcher{io, node.port()};
  REQUIRE(searcher.found() == 1);
  CHECK(node.heard_at("0.0.0.0") >= 2);
}

TEST_CASE("nodes at another port, or with another key, are not found") {
  asio::io_context io;
  UdpNode node{io, "127.0.0.1"};
  Searcher other{io, static_cast<std::uint16_t>(node.port() ^ 1)};
  REQUIRE(other.found() == 0);
  CHECK(other.find<NodeDiscovered>() == nullptr);
  CHECK(other.line.counters().frames_received == 0);
}

TEST_CASE("a search goes to the group and to the broadcast address of the network of the bind") {
  const auto at = [](const char* text) { return *parse_endpoint(text); };
  const std::vector<Network> networks{{0x7F000001, 0xFF000000},   // 127.0.0.1/8
                                      {0xC0000214, 0xFFFFFF00},   // 192.0.2.20/24
                                      {0xC0000215, 0xFFFFFF00},   // 192.0.2.21/24
                                      {0xC6336409, 0xFFFFFFF0}};  // 198.51.100.9/28
  const auto points = [&](const char* bound) { return search_points(networks, at(bound), 7'010); };
  const Endpoint group = at("239.192.67.87:7010");
  CHECK(points("127.0.0.1:9") == std::vector{group, at("127.255.255.255:7010")});
  CHECK(points("192.0.2.20:9") == std::vector{group, at("192.0.2.255:7010")});
  CHECK(points("198.51.100.9:9") == std::vector{group, at("198.51.100.15:7010")});
  CHECK(points("203.0.113.1:9") == std::vector{group});  // a network that is not up now
  CHECK(points("0.0.0.0:9") == std::vector{group, at("127.255.255.255:7010"),
                                           at("192.0.2.255:7010"), at("198.51.100.15:7010")});
  CHECK(points("[::1]:9").empty());
  // RFC 2365, section 6.2, and its section 9: not one of the upper 256.
  CHECK((protocol::search_group[0] == 239 && (protocol::search_group[1] & 0xFC) == 192));
  CHECK_FALSE((protocol::search_group[1] == 195 && protocol::search_group[2] == 255));
}
