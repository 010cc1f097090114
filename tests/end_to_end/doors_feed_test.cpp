// SPDX-License-Identifier: Apache-2.0
// Bad input over the WebSocket. Close codes are those of RFC 6455, section 7.4.1.
#include <doctest/doctest.h>

#include "tests/end_to_end/doors_bench.hpp"

using namespace catwalk::test;

namespace {

constexpr const char* live = "/api/v1/live";
constexpr int protocol_error = 1002;
constexpr int not_utf8 = 1007;
constexpr int too_big = 1009;

// The code with which the server closes; 0: it does not.
int close_code(RawWebSocket& socket) {
  for (;;) {
    const auto message = socket.next();
    if (message.opcode == 0) return 0;
    if (message.opcode != RawWebSocket::close || message.payload.size() < 2) continue;
    return static_cast<unsigned char>(message.payload[0]) << 8 |
           static_cast<unsigned char>(message.payload[1]);
  }
}

Json next(RawWebSocket& socket) { return Json::parse(socket.next_text(), nullptr, false); }

}  // namespace

TEST_CASE("a panel's bad message is told exactly, and the feed goes on") {
  DoorsBench bench;
  const auto before = bench.state();
  RawWebSocket socket{bench.port(), live};
  REQUIRE(socket.upgraded.status == 101);
  CHECK(next(socket).value("type", "") == "hello");
  CHECK(next(socket).value("type", "") == "snapshot");

  const std::string one =
      "The feed understands one message: it sends a snapshot when asked for one.";
  const std::string no_type = "The message is not an object with a type.";
  struct Case {
    unsigned char opcode;
    std::string payload, detail;
  };
  for (const auto& [opcode, payload, detail] : std::vector<Case>{
           {RawWebSocket::binary, R"({"type":"snapshot"})", "The feed speaks text messages only."},
           {RawWebSocket::text, "", "The message is not JSON."},
           {RawWebSocket::text, "snapshot", "The message is not JSON."},
           {RawWebSocket::text, "{\"type\":", "The message is not JSON."},
           {RawWebSocket::text, std::string(60'000, '['), "The message is not JSON."},
           {RawWebSocket::text, "null", no_type},
           {RawWebSocket::text, "[\"snapshot\"]", no_type},
           {RawWebSocket::text, R"({"kind":"snapshot"})", no_type},
           {RawWebSocket::text, R"({"type":"set","node":"net-1","gain_db":6})", one},
           {RawWebSocket::text, R"({"type":["snapshot"]})", one},
           {RawWebSocket::text, R"({"type":"snapshot","of":"net-1"})", one}}) {
    const auto beginning = payload.substr(0, 80);
    CAPTURE(beginning);
    REQUIRE(socket.send(opcode, payload));
    const auto told = next(socket);
    REQUIRE(told.is_object());
    CHECK(told.value("type", "") == "problem");
    CHECK(told.value("detail", "") == detail);
    CHECK(told.value("allowed", "") == R"({"type":"snapshot"})");
  }
  REQUIRE(socket.send(RawWebSocket::text, R"({"type":"snapshot"})"));
  CHECK(next(socket).value("type", "") == "snapshot");
  CHECK(bench.state() == before);
  CHECK(bench.trouble() == "");
}

TEST_CASE("a panel that breaks the protocol is closed with its code, and nobody else") {
  DoorsBench bench;
  RawWebSocket good{bench.port(), live};
  CHECK(next(good).value("type", "") == "hello");
  CHECK(next(good).value("type", "") == "snapshot");
  struct Case {
    std::string name;
    unsigned char opcode;
    std::string payload;
    bool masked;
    int code;
  };
  for (const auto& [name, opcode, payload, masked, code] : std::vector<Case>{
           {"more than 64 KiB", RawWebSocket::text, std::string(65'537, ' '), true, too_big},
           {"far more", RawWebSocket::binary, std::string(1'000'000, 'x'), true, too_big},
           {"not masked", RawWebSocket::text, "{}", false, protocol_error},
           {"an opcode that is none", 3, "x", true, protocol_error},
           {"a ping too long", RawWebSocket::ping, std::string(126, 'x'), true, protocol_error},
           {"not UTF-8", RawWebSocket::text, "\"\xC3\x28\"", true, not_utf8},
           {"half of a close code", RawWebSocket::close, "x", true, protocol_error}}) {
    const auto& the_name = name;
    CAPTURE(the_name);
    RawWebSocket bad{bench.port(), live};
    REQUIRE(bad.upgraded.status == 101);
    bad.send(opcode, payload, masked);
    CHECK(close_code(bad) == code);
    REQUIRE(good.send(RawWebSocket::text, R"({"type":"snapshot"})"));
    CHECK(next(good).value("type", "") == "snapshot");
  }
  CHECK(bench.trouble() == "");
}

TEST_CASE("exactly 64 KiB is taken") {
  DoorsBench bench;
  RawWebSocket socket{bench.port(), live};
  next(socket);
  next(socket);
  REQUIRE(
      socket.send(RawWebSocket::text, R"({"type":"snapshot"})" + std::string(65'536 - 19, ' ')));
  CHECK(next(socket).value("type", "") == "snapshot");
}

TEST_CASE("who was away is given the changes since, and a stranger's number or server a snapshot") {
  DoorsBench bench;
  std::string server;
  std::uint64_t sequence = 0;
  {
    RawWebSocket socket{bench.port(), live};
    const auto hello = next(socket);
    server = hello.at("server");
    sequence = hello.at("sequence");
    CHECK(next(socket).at("sequence") >= sequence);
  }
  const auto first_after_hello = [&](const std::string& query) {
    RawWebSocket socket{bench.port(), live + query};
    const auto hello = Json::parse(socket.next().payload);
    CHECK(hello.at("type") == "hello");
    return Json::parse(socket.next().payload);
  };
  const auto resumed =
      first_after_hello("?server=" + server + "&since=" + std::to_string(sequence));
  CHECK(resumed.at("type") == "change");
  CHECK(resumed.at("sequence") == sequence + 1);
  for (const auto& query :
       {"?since=" + std::to_string(sequence), "?server=0000&since=" + std::to_string(sequence),
        "?server=" + server + "&since=999999999", "?server=" + server,
        "?server=" + server + "&since=18446744073709551615"}) {
    CAPTURE(query);
    CHECK(first_after_hello(query).at("type") == "snapshot");
  }
}
