// SPDX-License-Identifier: Apache-2.0
// Bad input from the wire: at the daemon's UDP port, at the node's, and on the serial line.
#include <doctest/doctest.h>
#include <fcntl.h>
#include <unistd.h>

#include "protocol/codec.hpp"
#include "protocol/datagram.hpp"
#include "protocol/frame.hpp"
#include "tests/end_to_end/doors_bench.hpp"

using namespace catwalk;
using namespace catwalk::test;
using protocol::Direction;

namespace {

// The key that the rig writes, and another.
protocol::Key key(char digit = '5') { return *protocol::Key::from_hex(std::string(64, digit)); }

protocol::NodeUid uid_of(const std::string& node) {
  return *protocol::NodeUid::parse(Rig::uid(node));
}

std::string text(const protocol::Bytes& bytes) { return {bytes.begin(), bytes.end()}; }

protocol::Bytes report(std::int16_t gain_cdb) {
  protocol::Reading reading;
  reading.settings.gain_cdb = gain_cdb;
  return protocol::encode({{}, protocol::Reply{protocol::Report{reading}}});
}

std::string sealed(Direction direction, const std::string& node, std::uint32_t session,
                   std::uint32_t counter, const protocol::Bytes& packet,
                   const protocol::Key& with = key()) {
  return text(protocol::seal({direction, uid_of(node), session, 1, counter}, packet, with));
}

std::string with_byte(std::string bytes, std::size_t at, char value) {
  bytes.at(at) = value;
  return bytes;
}

}  // namespace

TEST_CASE("bad datagrams at the daemon are dropped and counted, and believed by nobody") {
  DoorsBench bench;
  const auto port = udp_port_of(bench.rig.daemon->pid());
  const auto before = bench.state();
  UdpClient stranger;
  // From a node that is not in the rack file, so that no node's own counting is touched.
  const auto genuine = [](std::uint32_t counter) {
    return sealed(Direction::to_controller, "net-9", 5, counter, report(2'700));
  };
  struct Case {
    std::string name, bytes, counter;
  };
  const std::vector<Case> cases{
      {"one byte", "x", "malformed"},
      {"too short by one byte", genuine(1).substr(0, protocol::shortest_datagram - 1), "malformed"},
      {"too long", std::string(protocol::longest_datagram + 1, 'x'), "malformed"},
      {"1400 bytes of noise", std::string(1'400, '\xA7'), "malformed"},
      {"another protocol", with_byte(genuine(2), 0, 'X'), "malformed"},
      {"another version", with_byte(genuine(3), 2, 2), "malformed"},
      {"meant for a node", sealed(Direction::to_node, "net-1", 5, 4, report(2'700)), "malformed"},
      {"another key", sealed(Direction::to_controller, "net-1", 5, 5, report(2'700), key('6')),
       "forged"},
      {"a bit turned over on the way", with_byte(genuine(6), 25, '\x7F'), "forged"},
      {"a signature cut off", genuine(7).substr(0, genuine(7).size() - 1), "forged"},
      {"a node that nobody listed", genuine(8), "unexpected"},
      {"the same once more: said to a session that is not the daemon's", genuine(8), "unexpected"},
      {"a node's life before this one",
       sealed(Direction::to_controller, "net-1", 0, 1'000, report(2'700)), "replayed"},
  };
  for (const auto& [name, bytes, counter] : cases) {
    const auto& the_name = name;
    CAPTURE(the_name);
    const auto counted = bench.counter("net", counter);
    REQUIRE(counted >= 0);
    stranger.send(port, bytes);
    CHECK(eventually([&, &fault = counter] { return bench.counter("net", fault) >= counted + 1; }));
    CHECK(bench.state() == before);
  }
  CHECK_FALSE(stranger.receive(0));
  CHECK(eventually([&] { return bench.trouble().empty(); }));
}

TEST_CASE("bad datagrams at a node are not answered, and nothing is set by them") {
  DoorsBench bench;
  const auto port = udp_port_of(bench.rig.net->pid());
  const auto before = bench.state();
  protocol::Settings loud;
  loud.gain_cdb = 2'700;
  const auto stage = protocol::encode({{}, protocol::Request{protocol::Stage{{99}, {1}, loud}}});
  const auto genuine = sealed(Direction::to_node, "net-1", 1, 1, stage);
  UdpClient stranger;
  std::uint8_t sequence = 0;
  for (const auto& [name, bytes] : std::vector<std::pair<std::string, std::string>>{
           {"nothing", ""},
           {"one byte", "x"},
           {"noise", std::string(98, '\xA7')},
           {"1400 bytes of noise", std::string(1'400, '\xA7')},
           {"another protocol", with_byte(genuine, 1, 'X')},
           {"another version", with_byte(genuine, 2, 9)},
           {"meant for a controller", sealed(Direction::to_controller, "net-1", 99, 1, stage)},
           {"another key", sealed(Direction::to_node, "net-1", 99, 1, stage, key('6'))},
           {"for a node that is not here", sealed(Direction::to_node, "net-9", 99, 1, stage)},
           {"a packet of another version",
            sealed(Direction::to_node, "net-1", 99, 1, {9, 0, 0, 1})},
           {"a stage for all",
            text(protocol::seal({Direction::to_node, protocol::NodeUid::everyone(), 99, 1, 1},
                                stage, key()))}}) {
    const auto& the_name = name;
    CAPTURE(the_name);
    stranger.send(port, bytes);
    // Behind it a question that is always answered: by a controller that was before this one.
    stranger.send(
        port,
        sealed(Direction::to_node, "net-1", 1, 1,
               protocol::encode({{{}, ++sequence}, protocol::Request{protocol::Identify{}}})));
    const auto answer = stranger.receive(10'000);
    REQUIRE(answer);
    const auto opened = protocol::open(protocol::Bytes{answer->begin(), answer->end()},
                                       Direction::to_controller, key());
    REQUIRE(opened);
    const auto packet = protocol::decode(opened->packet);
    REQUIRE(packet);
    CHECK(packet->header.sequence == sequence);  // so the bad one was not answered
    const auto* reply = std::get_if<protocol::Reply>(&packet->message);
    REQUIRE(reply != nullptr);
    const auto* refusal = std::get_if<protocol::Refusal>(reply);
    REQUIRE(refusal != nullptr);
    CHECK(refusal->reason == protocol::RefusalReason::epoch_too_low);
    CHECK(bench.state() == before);
  }
  CHECK(eventually([&] { return bench.trouble().empty(); }));
}

TEST_CASE("noise and bad frames on the serial line cost retries, and nothing else") {
  DoorsBench bench;
  const auto before = bench.state();
  const Handle line{::open(bench.rig.file("state/bus").c_str(), O_WRONLY | O_NOCTTY | O_CLOEXEC)};
  REQUIRE(line.number() >= 0);
  const auto frame = [](const protocol::Bytes& packet) { return text(protocol::to_frame(packet)); };
  protocol::Settings loud;
  loud.gain_cdb = 9'900;  // far beyond what the node can do
  const auto stage =
      protocol::encode({{{1}, 200}, protocol::Request{protocol::Stage{{1}, {7}, loud}}});
  const auto whole = frame(stage);
  for (const auto& [name, bytes] : std::vector<std::pair<std::string, std::string>>{
           {"noise", std::string(200, '\xA7')},
           {"delimiters only", std::string(300, '\0')},
           {"a frame that never ends", std::string(5'000, 'x')},
           {"a frame with a wrong checksum", with_byte(whole, 6, '\x55')},
           {"half a frame", whole.substr(0, whole.size() / 2)},
           {"a good frame with settings that the node cannot do", whole},
           {"a good frame of another version", frame({9, 1, 0, 2})},
           {"a good frame with a message that is not there", frame({1, 1, 201, 0x3F})},
           {"a good frame that is cut short inside", frame({1, 1, 202, 3, 0, 0})}}) {
    const auto& the_name = name;
    CAPTURE(the_name);
    REQUIRE(::write(line.number(), bytes.data(), bytes.size()) ==
            static_cast<ssize_t>(bytes.size()));
    // Read anew after it, and still as before.
    const auto sent = bench.counter("bus", "frames_received");
    CHECK(eventually([&] { return bench.counter("bus", "frames_received") > sent + 4; }));
    CHECK(eventually([&] { return bench.trouble().empty(); }));
    CHECK(bench.state() == before);
  }
}

TEST_CASE("a line that corrupts every fifth frame is counted, and still carries a change") {
  DoorsBench bench;
  const auto counted = bench.counter("bus", "malformed");
  bench.rig.bus->say("corrupt 0.2");
  CHECK(eventually([&] { return bench.counter("bus", "malformed") > counted; }));
  // Three frames in a row are lost now and then, and then the node was not reached: asked again, as
  // a person does.
  CHECK(eventually([&] {
    const auto outcome = bench.rig.set("bus-1", {{"gain_db", 6}}).text("outcome");
    if (outcome != "settled") CHECK(outcome == "unreachable");
    return outcome == "settled";
  }));
}
