// SPDX-License-Identifier: Apache-2.0
// What strangers can make the daemon keep in memory, without any token.
#include <doctest/doctest.h>

#include <fstream>

#include "tests/end_to_end/guarded_rack.hpp"
#include "tests/hostile/descriptors.hpp"

using namespace catwalk::test;

namespace {

// kB, as proc(5) has it: "VmHWM" is the most there ever was in memory at once, "VmRSS" what is now.
long memory_of(int pid, const std::string& what) {
  std::ifstream status{"/proc/" + std::to_string(pid) + "/status"};
  for (std::string line; std::getline(status, line);)
    if (line.starts_with(what + ':')) return std::stol(line.substr(what.size() + 1));
  return -1;
}

// Sends `piece` again and again until the other end has had enough, or `most` bytes are sent.
struct Endless {
  std::size_t sent = 0;
  RawResponse answer;
};
Endless send_endlessly(std::uint16_t port, const std::string& head, const std::string& piece,
                       std::size_t most) {
  TcpClient client{port};
  Endless result;
  REQUIRE(client.say(head));
  while (result.sent < most && client.say(piece)) result.sent += piece.size();
  result.answer = client.response();
  return result;
}

const std::string chunked_post =
    "POST /api/v1/session HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
    "Transfer-Encoding: chunked\r\n\r\n";
constexpr std::size_t plenty = 134'217'728;  // bytes: 128 MiB
constexpr long little = 16'384;              // kB

// Sanitizers keep what was freed for a while.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr bool measures_memory = false;
#else
constexpr bool measures_memory = true;
#endif

}  // namespace

TEST_CASE("whatever has no end in a request is ended by us, and takes no memory") {
  const GuardedRack rack;
  const auto pid = rack.rig.daemon->pid();
  const auto before = memory_of(pid, "VmHWM");
  struct Case {
    std::string name, head, piece;
  };
  const std::string filling(65'536, 'x');
  std::string tiny_chunks;
  for (int i = 0; i < 64; ++i) tiny_chunks += "1;" + std::string(1'000, 'x') + "\r\n \r\n";
  for (const auto& one : std::vector<Case>{
           {"the extension of a chunk", chunked_post + "1;", filling},
           {"the size of a chunk", chunked_post, std::string(65'536, '0')},
           {"the extension of the last chunk", chunked_post + "0;", filling},
           {"a field of a trailer", chunked_post + "0\r\nX: ", filling},
           {"a trailer of many fields", chunked_post + "0\r\n", "X: " + filling + "\r\n"},
           {"a target", "GET /", filling},
           {"a header", "GET / HTTP/1.1\r\nX: ", filling},
           {"extensions of many small chunks", chunked_post, tiny_chunks}}) {
    CAPTURE(one.name);
    const auto result = send_endlessly(rack.port, one.head, one.piece, plenty);
    CHECK(result.sent < plenty);
    // Where we stop reading, the answer may be lost to who goes on sending.
    if (result.answer.status != 0) CHECK(result.answer.status / 100 == 4);
    CHECK(rack.serves());
  }
  if (measures_memory) CHECK(memory_of(pid, "VmHWM") - before < little);
}

TEST_CASE("who does not read the files of the page keeps no copies of them") {
  more_descriptors();
  const GuardedRack rack;
  const auto pid = rack.rig.daemon->pid();
  const auto page = rack.ask("GET", "/app.js", "");
  REQUIRE(page.status == 200);
  REQUIRE(page.body.size() > 100'000);
  const auto before = memory_of(pid, "VmRSS");
  std::vector<TcpClient> readers;
  for (int i = 0; i < 1'000; ++i) {
    readers.emplace_back(rack.port);
    REQUIRE(readers.back().say(http_bytes("GET", "/app.js")));
  }
  CHECK(rack.serves());
  if (measures_memory) CHECK(memory_of(pid, "VmRSS") - before < 2 * little);
}
