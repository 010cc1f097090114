// SPDX-License-Identifier: Apache-2.0
// The socket and the timer of show control, on the loopback. Its core is the test.
#include <doctest/doctest.h>

#include <asio.hpp>
#include <string>

#include "daemon/control/osc_codec.hpp"
#include "daemon/control/udp_door.hpp"
#include "tests/support/hall.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace std::chrono_literals;
using asio::ip::udp;
using control::Message;

namespace {

struct Doorstep {
  explicit Doorstep(const std::string& bind, const std::string& sender,
                    std::vector<control::Peer> subscribers = {})
      : client{io, udp::endpoint{asio::ip::make_address(bind), 0}} {
    auto opened = control::UdpDoor::open(io, {bind, 0, {{{sender, {}}}, std::move(subscribers)}},
                                         hall.snapshot(), ways());
    REQUIRE(opened);
    door = std::move(opened).value();
    to = {asio::ip::make_address(bind), door->port()};
  }

  control::Ways ways() {
    return {[this](const rack::Event& event, control::Ways::Answered answered) {
              asked.push_back(event);
              answer = std::move(answered);
            },
            [this](const rack::SnapshotPtr&, const plan::SegmentName&,
                   control::Ways::Previewed previewed) { preview = std::move(previewed); },
            [this](const std::string& line) { notes.push_back(line); },
            [this](const control::Counters& now) { counters = now; }};
  }

  void send_bytes(const protocol::Bytes& bytes) { client.send_to(asio::buffer(bytes), to); }
  void send(const Message& message) { send_bytes(control::write_message(message)); }

  // Runs the loop until this is so; false: it never was.
  template <class Condition>
  bool until(Condition condition) {
    const auto deadline = std::chrono::steady_clock::now() + 20s;
    while (!condition()) {
      if (std::chrono::steady_clock::now() > deadline) return false;
      io.restart();
      io.run_one_for(100ms);
    }
    return true;
  }

  // The next datagram that the client gets; its first message.
  Message next() {
    client.non_blocking(true);
    protocol::Bytes bytes(65'536);
    std::size_t count = 0;
    REQUIRE(until([&] {
      asio::error_code error;
      udp::endpoint from;
      count = client.receive_from(asio::buffer(bytes), from, 0, error);
      return !error;
    }));
    bytes.resize(count);
    const auto packet = control::read_packet(bytes);
    REQUIRE(packet);
    return packet->messages.at(0).message;
  }

  asio::io_context io;
  Hall hall{small_rack()};
  udp::socket client;
  std::unique_ptr<control::UdpDoor> door;
  udp::endpoint to;
  std::vector<rack::Event> asked;
  control::Ways::Answered answer;
  control::Ways::Previewed preview;
  std::vector<std::string> notes;
  control::Counters counters;
};

bool has_ipv6_loopback() {
  asio::io_context io;
  asio::error_code error;
  udp::socket socket{io};
  socket.open(udp::v6(), error);
  if (!error) socket.bind({asio::ip::make_address("::1"), 0}, error);
  return !error;
}

const Message ping{"/catwalk/ping", {}};

}  // namespace

TEST_CASE("a reply comes to the address and port that was sent from") {
  Doorstep step{"127.0.0.1", "127.0.0.1"};
  step.send(ping);
  CHECK(step.next() ==
        Message{"/catwalk/reply/ping", {std::string{}, std::string{"done"}, std::string{"small"}}});
  CHECK(step.counters.received == 1);
  CHECK(step.counters.sent == 1);
}

TEST_CASE("an IPv6 sender is known in whatever way its address is written") {
  if (!has_ipv6_loopback()) {
    MESSAGE("this machine has no IPv6 loopback");
    return;
  }
  Doorstep step{"::1", "0:0:0:0:0:0:0:1"};
  step.send(ping);
  CHECK(step.next().address == "/catwalk/reply/ping");
  step.send({"/catwalk/lock", {}});
  REQUIRE(step.until([&] { return step.asked.size() == 1; }));
  CHECK(std::get<rack::LockRequested>(step.asked[0]).who ==
        "osc [::1]:" + std::to_string(step.client.local_endpoint().port()));
}

TEST_CASE("a port that is taken is told in a sentence") {
  Doorstep step{"127.0.0.1", "127.0.0.1"};
  const auto second = control::UdpDoor::open(step.io, {"127.0.0.1", step.door->port(), {}},
                                             step.hall.snapshot(), step.ways());
  REQUIRE_FALSE(second);
  CHECK(second.error() == "show control: cannot bind 127.0.0.1 port " +
                              std::to_string(step.door->port()) + ": Address already in use");
}

TEST_CASE("both answers of a switch are replied") {
  Doorstep step{"127.0.0.1", "127.0.0.1"};
  step.send({"/catwalk/go", {std::string{"finale"}}});
  REQUIRE(step.until([&] { return step.asked.size() == 1; }));
  CHECK(std::get<rack::SwitchRequested>(step.asked[0]).segment == plan::SegmentName{"finale"});
  step.answer({rack::Outcome::accepted, "begun", {}, 0, nullptr});
  CHECK(step.next().arguments[1] == control::Argument{std::string{"accepted"}});
  step.answer({rack::Outcome::stuck, "here and there", {}, 0, nullptr});
  CHECK(step.next().arguments[1] == control::Argument{std::string{"stuck"}});
}

TEST_CASE("a bundle for later is carried out by the timer") {
  Doorstep step{"127.0.0.1", "127.0.0.1"};
  auto bytes = control::write_bundle({ping});
  const auto due =
      std::chrono::floor<std::chrono::microseconds>(std::chrono::system_clock::now()) + 300ms;
  protocol::Bytes tag;
  protocol::put(tag, control::time_tag_of(due).bits, 8);
  std::copy(tag.begin(), tag.end(), bytes.begin() + 8);
  step.send_bytes(bytes);
  CHECK(step.next().arguments[1] == control::Argument{std::string{"scheduled"}});
  CHECK(step.next().arguments[1] == control::Argument{std::string{"done"}});
}

TEST_CASE("a subscriber is told the next snapshot") {
  Doorstep step{"127.0.0.1", "127.0.0.1"};
  step.send({"/catwalk/subscribe", {}});
  CHECK(step.next().address == "/catwalk/reply/subscribe");
  CHECK(step.next() == Message{"/catwalk/state/segment", {std::string{"speeches"}}});
  step.hall.give(rack::SegmentRequested{1, {"finale"}, "ana", {}});
  step.hall.run();
  step.door->published(step.hall.snapshot());
  CHECK(step.next() == Message{"/catwalk/state/segment", {std::string{"finale"}}});
}

TEST_CASE("a datagram that is too long is dropped, and the longest is read") {
  Doorstep step{"127.0.0.1", "127.0.0.1"};
  // 4 bytes of address, 4 of type tags, and a zero after the text.
  const auto with = [](std::size_t size) {
    return control::write_message({"/a", {std::string(size - 9, 'x')}});
  };
  step.send_bytes(with(control::longest_packet + 4));
  REQUIRE(step.until([&] { return step.counters.malformed == 1; }));
  CHECK(step.notes.at(0).ends_with(": it is too long"));
  step.send_bytes(with(control::longest_packet));
  CHECK(step.next().address == "/catwalk/reply");
}

TEST_CASE("what cannot be sent is counted, and the door goes on") {
  // No system sends from the loopback to another network.
  Doorstep step{"127.0.0.1", "127.0.0.1", {{"192.0.2.1", 9}}};
  CHECK(step.counters.unsent == 1);
  step.send(ping);
  CHECK(step.next().address == "/catwalk/reply/ping");
}

TEST_CASE("answers that come after the door's end come in vain") {
  Doorstep step{"127.0.0.1", "127.0.0.1"};
  step.send({"/catwalk/preview", {std::string{"finale"}}});
  step.send({"/catwalk/lock", {}});
  REQUIRE(step.until([&] { return step.preview && step.answer; }));
  step.door.reset();
  step.preview({});
  step.answer({});
  step.io.restart();
  step.io.run_for(1ms);
  CHECK(step.counters.sent == 0);
}
