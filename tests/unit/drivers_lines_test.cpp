// SPDX-License-Identifier: Apache-2.0
// The three lines on the real thing: a pseudo-terminal, UDP on loopback, timers. Nothing sleeps:
// the event loop runs until what is waited for has come.
#include <doctest/doctest.h>
#include <unistd.h>

#include <array>
#include <asio/buffer.hpp>
#include <asio/io_context.hpp>
#include <asio/ip/udp.hpp>
#include <asio/posix/stream_descriptor.hpp>
#include <cstdio>
#include <filesystem>
#include <optional>

#include "drivers/bus/serial_line.hpp"
#include "drivers/bus/simulated_line.hpp"
#include "drivers/datagrams/udp_line.hpp"
#include "drivers/node/node_on_bus.hpp"
#include "drivers/node/node_on_datagrams.hpp"
#include "drivers/node/node_options.hpp"
#include "drivers/node/pty.hpp"
#include "tests/support/datagram_bench.hpp"
#include "tests/support/listener.hpp"

using namespace catwalk;
using namespace catwalk::drivers;
using namespace std::chrono_literals;
using test::Listener;
using test::uid_of;

namespace {

// Nodes behind a pseudo-terminal, in the same event loop.
struct PtyNodes {
  asio::io_context& io;
  Pty pty;
  asio::posix::stream_descriptor own{io};
  std::vector<std::unique_ptr<EmulatedNode>> nodes;
  EmulatedBus bus;
  std::array<std::uint8_t, 256> bytes{};

  PtyNodes(asio::io_context& the_io, std::size_t count, const std::string& link)
      : io{the_io}, pty{Pty::open().value()} {
    own.assign(pty.release_own_end());
    CHECK_FALSE(pty.link_from(link));
    for (std::size_t i = 0; i < count; ++i) {
      NodeConfig config;
      config.uid = uid_of(i);
      config.type = *built_in_type("plover-fixed");
      nodes.push_back(std::make_unique<EmulatedNode>(
          config, factory_memory(config, protocol::Address{static_cast<std::uint8_t>(i + 1)}),
          Clock::now()));
      bus.add(*nodes.back());
    }
    read();
  }
  void read() {
    own.async_read_some(asio::buffer(bytes), [this](const asio::error_code& error, std::size_t n) {
      if (error) return;
      for (const auto& answer : bus.feed(protocol::ByteView{bytes}.first(n), Clock::now())) {
        asio::error_code ignored;
        own.write_some(asio::buffer(answer), ignored);
      }
      read();
    });
  }
};

std::string link_path() {
  return (std::filesystem::temp_directory_path() /
          ("catwalk-line-test-" + std::to_string(getpid())))
      .string();
}

SerialLineConfig serial_config(std::size_t count) {
  SerialLineConfig config;
  config.device = link_path();
  for (std::size_t i = 0; i < count; ++i) {
    config.nodes.push_back({uid_of(i), protocol::Address{static_cast<std::uint8_t>(i + 1)}});
  }
  config.reading_age = 200ms;
  config.first_pause = 20ms;
  config.last_pause = 80ms;
  return config;
}

// A serial line and its nodes, with somebody who listens.
struct PtyBench {
  asio::io_context io;
  PtyNodes nodes;
  Listener listener{io};
  SerialLine line;

  explicit PtyBench(std::size_t count)
      : nodes{io, count, link_path()}, line{io, serial_config(count)} {
    line.start(listener.handler());
  }
};

}  // namespace

TEST_CASE("a serial line over a pseudo-terminal reads its nodes and carries a change") {
  PtyBench bench{3};
  auto& listener = bench.listener;
  auto& line = bench.line;
  CHECK(listener.log.empty());  // nothing is said from within a call
  REQUIRE(listener.wait([&] { return listener.count<NodeRead>() >= 3; }));
  CHECK(listener.count<LineUp>() == 1);
  CHECK(listener.count<NodeIdentified>() == 3);

  protocol::Settings settings = bench.nodes.nodes[1]->settings();
  settings.gain_cdb = 600;
  line.submit({1, uid_of(1), protocol::Stage{{1}, {9}, settings}});
  line.submit({2, uid_of(1), protocol::Apply{{1}, {9}}});
  line.submit({3, uid_of(1), protocol::Read{}});
  REQUIRE(listener.wait([&] { return listener.ends(3) == 1; }));
  const auto reading = listener.answer_to(3);
  REQUIRE(reading);
  CHECK(std::get<protocol::Reading>(*reading).settings.gain_cdb == 600);
  line.discover();
  REQUIRE(listener.wait([&] { return listener.count<DiscoveryEnded>() == 1; }));
  CHECK(listener.count<NodeDiscovered>() == 3);
}

TEST_CASE("a port that is missing is a line that is down, and comes up when it appears") {
  asio::io_context io;
  Listener listener{io};
  SerialLine line{io, serial_config(1)};
  line.start(listener.handler());
  REQUIRE(listener.wait([&] { return listener.count<LineDown>() == 1; }));
  CHECK(std::get<LineDown>(listener.log[0].second).reason ==
        "cannot open " + link_path() + ": No such file or directory");
  line.submit({1, uid_of(0), protocol::Identify{}});
  REQUIRE(listener.wait([&] { return listener.count<CommandFailed>() == 1; }));

  PtyNodes nodes{io, 1, link_path()};
  REQUIRE(listener.wait([&] { return listener.count<NodeRead>() >= 1; }));
  CHECK(listener.count<LineDown>() == 1);  // told once, however often it was tried
}

TEST_CASE("a port pulled out in the middle of a change ends it, and is opened again when back") {
  asio::io_context io;
  Listener listener{io};
  SerialLine line{io, serial_config(1)};
  for (int round = 1; round <= 3; ++round) {
    std::optional<PtyNodes> nodes;
    nodes.emplace(io, 1, link_path());
    if (round == 1) line.start(listener.handler());
    const auto reads = listener.count<NodeRead>();
    REQUIRE(listener.wait([&] { return listener.count<NodeRead>() > reads; }));
    CHECK(listener.count<LineUp>() == static_cast<std::size_t>(round));
    const auto id = static_cast<CommandId>(round);
    nodes->nodes[0]->silence(true);  // so that the command is under way
    line.submit({id, uid_of(0), protocol::Identify{}});
    nodes.reset();
    REQUIRE(listener.wait([&] { return listener.ends(id) == 1; }));
    REQUIRE(listener.wait(
        [&] { return listener.count<LineDown>() >= static_cast<std::size_t>(round); }));
  }
}

TEST_CASE("a stopped line ends its commands and says nothing more") {
  PtyBench bench{1};
  auto& listener = bench.listener;
  auto& line = bench.line;
  REQUIRE(listener.wait([&] { return listener.count<NodeRead>() >= 1; }));
  for (CommandId id = 1; id <= 3; ++id) line.submit({id, uid_of(0), protocol::Identify{}});
  line.stop();
  const auto said = listener.log.size();
  REQUIRE(listener.wait([&] { return listener.count<CommandFailed>() == 3; }));
  listener.wait([] { return false; }, 300ms);
  CHECK(listener.log.size() == said + 3);
}

TEST_CASE("two programs cannot have the same serial port") {
  asio::io_context io;
  PtyNodes nodes{io, 1, link_path()};
  Listener first{io};
  Listener second{io};
  SerialLine one{io, serial_config(1)};
  one.start(first.handler());
  REQUIRE(first.wait([&] { return first.count<LineUp>() == 1; }));
  SerialLine two{io, serial_config(1)};
  two.start(second.handler());
  REQUIRE(second.wait([&] { return second.count<LineDown>() == 1; }));
  CHECK(std::get<LineDown>(second.log[0].second).reason ==
        "cannot open " + link_path() + ": another program uses it");
}

TEST_CASE(
    "a UDP line reads its node, carries a change, hears reports, and follows it to a new port") {
  using Udp = asio::ip::udp;
  asio::io_context io;
  const Udp::endpoint any{asio::ip::make_address("127.0.0.1"), 0};
  std::optional<Udp::socket> socket;
  socket.emplace(io, any);

  NodeConfig config;
  config.uid = uid_of(0);
  config.type = *built_in_type("gull-integral");
  EmulatedNode node{config, factory_memory(config, protocol::Address::unassigned()), Clock::now()};
  NodeOnDatagrams side{node, test::test_key(), Clock::now()};
  Udp::endpoint controller;
  std::array<std::uint8_t, 256> bytes{};
  Udp::endpoint from;
  std::function<void()> serve = [&] {
    socket->async_receive_from(
        asio::buffer(bytes), from, [&](const asio::error_code& error, std::size_t n) {
          if (error) return;
          const auto heard = side.receive(protocol::ByteView{bytes}.first(n), Clock::now());
          if (heard.report_here) controller = from;
          if (heard.reply) socket->send_to(asio::buffer(*heard.reply), from);
          serve();
        });
  };
  serve();

  const auto at = parse_endpoint("127.0.0.1:" + std::to_string(socket->local_endpoint().port()));
  REQUIRE(at);
  UdpLineConfig line_config{.nodes = {{uid_of(0), *at}}, .key = test::test_key()};
  line_config.bind_address = "127.0.0.1";
  line_config.epoch = 3;
  Listener listener{io};
  UdpLine line{io, line_config};
  line.start(listener.handler());
  REQUIRE(listener.wait([&] { return listener.count<NodeRead>() >= 1; }));

  protocol::Settings settings = node.settings();
  settings.gain_cdb = 600;
  line.submit({1, uid_of(0), protocol::Stage{{3}, {9}, settings}});
  line.submit({2, uid_of(0), protocol::Apply{{3}, {9}}});
  REQUIRE(listener.wait([&] { return listener.ends(2) == 1; }));
  CHECK(node.settings().gain_cdb == 600);

  // The node comes back on another port, and its report tells where.
  socket.emplace(io, any);
  serve();
  settings.gain_cdb = 900;
  REQUIRE_FALSE(node.turn(settings));
  const auto report = side.report(Clock::now());
  REQUIRE(report);
  socket->send_to(asio::buffer(*report), controller);
  line.submit({3, uid_of(0), protocol::Read{}});
  REQUIRE(listener.wait([&] { return listener.ends(3) == 1; }));
  const auto reading = listener.answer_to(3);
  REQUIRE(reading);
  CHECK(std::get<protocol::Reading>(*reading).settings.gain_cdb == 900);
  CHECK(line.counters().forged == 0);
}

TEST_CASE("a UDP port in use is a line that is down, and comes up when it is free") {
  using Udp = asio::ip::udp;
  asio::io_context io;
  std::optional<Udp::socket> holder;
  holder.emplace(io, Udp::endpoint{asio::ip::make_address("127.0.0.1"), 0});
  UdpLineConfig config{.key = test::test_key()};
  config.bind_address = "127.0.0.1";
  config.port = holder->local_endpoint().port();
  config.first_pause = 20ms;
  Listener listener{io};
  UdpLine line{io, config};
  line.start(listener.handler());
  REQUIRE(listener.wait([&] { return listener.count<LineDown>() == 1; }));
  holder.reset();
  REQUIRE(listener.wait([&] { return listener.count<LineUp>() == 1; }));
  CHECK(line.local_port() == config.port);
}

TEST_CASE("a simulated line behaves the same in real time, faults on call") {
  asio::io_context io;
  auto config = test::line_of(4);
  config.reading_age = 200ms;
  Listener listener{io};
  SimulatedLine line{io, config};
  line.start(listener.handler());
  REQUIRE(listener.wait([&] { return listener.count<NodeRead>() >= 4; }));
  CHECK_FALSE(line.perform("knob " + uid_of(2).text() + " gain 6"));
  CHECK(line.perform("knob " + uid_of(9).text() + " gain 6"));
  const auto turned = [&] {
    for (const auto& [at, notice] : listener.log) {
      const auto* read = std::get_if<NodeRead>(&notice);
      if (read != nullptr && test::amplifier_in(*read).telemetry.locally_changed) {
        return read->node == uid_of(2) && test::amplifier_in(*read).settings.gain_cdb == 600;
      }
    }
    return false;
  };
  REQUIRE(listener.wait(turned));
  line.unplug();
  REQUIRE(listener.wait([&] { return listener.count<LineDown>() == 1; }));
  line.plug();
  REQUIRE(listener.wait([&] { return listener.count<LineUp>() == 2; }));
}

TEST_CASE("a line may be destroyed by what it says") {
  asio::io_context io;
  std::unique_ptr<Line> line = std::make_unique<SimulatedLine>(io, test::line_of(2));
  int said = 0;
  line->start([&](const Notice&) {
    ++said;
    line.reset();
  });
  io.run_for(100ms);
  CHECK(said == 1);
}

TEST_CASE("an endpoint is an IP address and a port, and names are not looked up") {
  for (const char* good : {"127.0.0.1:7010", "[::1]:7010", "255.255.255.255:1"}) {
    CAPTURE(good);
    REQUIRE(parse_endpoint(good));
    CHECK(text_of(*parse_endpoint(good)) == good);
  }
  for (const char* bad :
       {"", "127.0.0.1", "127.0.0.1:", "127.0.0.1:0", "127.0.0.1:65536", "::1:7010",
        "localhost:7010", "1.2.3:7010", "[1.2.3.4]:7010", "1.2.3.4:70x"}) {
    CAPTURE(bad);
    CHECK_FALSE(parse_endpoint(bad));
  }
}

TEST_CASE("the command line of catwalk-node is read, or the word at fault is named") {
  using Words = std::vector<std::string_view>;
  const auto options =
      parse_node_options(Words{"--pty", "--link", "/x", "--udp", "127.0.0.1:0", "--key-file", "k",
                               "--node", "7a10-0000002f@9,type=gull-integral,label=Quay", "--count",
                               "2", "--loss", "0.05", "--delay", "2ms..20ms", "--seed", "4"});
  REQUIRE(options);
  REQUIRE(options->nodes.size() == 3);
  CHECK(options->nodes[0].address == protocol::Address{9});
  CHECK(options->nodes[0].type.name == "gull-integral");
  CHECK(options->nodes[0].label == "Quay");
  CHECK(options->nodes[2].uid == protocol::NodeUid{0x7a10, 2});
  CHECK(options->faults.loss == 0.05);
  CHECK(options->faults.delay_max == 20ms);

  const auto error = [](const Words& words) {
    const auto bad = parse_node_options(words);
    REQUIRE_FALSE(bad);
    return bad.error();
  };
  CHECK(error({"--speed"}) == "option \"--speed\" is unknown; see --help");
  CHECK(error({"--baud"}) == "--baud needs a value");
  CHECK(error({"--baud", "fast"}) == "--baud \"fast\": allowed is 1200 to 4000000");
  CHECK(error({"--node", "7"}) == "--node \"7\": allowed is a uid such as 7a10-0000002f");
  CHECK(error({"--node", "7a10-0000002f@300"}) == "--node address \"300\": allowed is 1 to 247");
  CHECK(error({"--node", "7a10-0000002f,type=kite"}) ==
        "--node type \"kite\": allowed is tern-inline, gull-integral, plover-fixed, "
        "heron-sum, dunlin-select");
  CHECK(error({"--node", "7a10-0000002f,label=0123456789abcdefg"}) ==
        "--node label \"0123456789abcdefg\": allowed is up to 16 bytes of UTF-8");
  CHECK(error({"--loss", "2"}) == "--loss \"2\": allowed is 0 to 1");
  CHECK(error({"--udp", "here"}) == "--udp \"here\": allowed is ADDRESS:PORT, port 0 for any");
  CHECK(error({"--pty"}) == "no nodes: give --node or --count");
  CHECK(error({"--count", "1"}) == "nothing to serve on: give --serial, --pty or --udp");
  CHECK(error({"--count", "1", "--udp", "127.0.0.1:0"}) == "--udp needs --key-file");
  CHECK(error({"--count", "1", "--pty", "--serial", "/dev/x"}) ==
        "--serial and --pty exclude each other");
  CHECK(error({"--pty", "--node", "7a10-00000001", "--count", "1"}) ==
        "node 7a10-00000001 is given twice");
}
