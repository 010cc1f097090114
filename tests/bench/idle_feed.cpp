// SPDX-License-Identifier: Apache-2.0
// What a rack that nothing happens to costs a panel: 256 simulated nodes, read again and again. One
// panel is told of nodes whole, another in patches, at the same time. Reach: the patches have at
// most a quarter of the bytes.
#include <array>
#include <cstdio>
#include <thread>

#include "tests/bench/bench.hpp"
#include "tests/support/raw_socket.hpp"

using namespace catwalk::test;

namespace {

struct Taken {
  double bytes = 0;  // of messages, without their frames
  long messages = 0;
};

// From the first change after the snapshot on. Nothing: the feed ended.
Taken listen(std::uint16_t port, const std::string& query, std::chrono::milliseconds lasts) {
  RawWebSocket socket{port, "/api/v1/live" + query};
  for (;;) {
    const auto message = socket.next();
    if (message.opcode == 0) return {};
    if (message.payload.find("\"snapshot\"") != std::string::npos) break;
  }
  Taken taken;
  const auto end = std::chrono::steady_clock::now() + lasts;
  while (std::chrono::steady_clock::now() < end) {
    const auto message = socket.next();
    if (message.opcode == 0) return {};
    if (message.opcode == RawWebSocket::ping) socket.send(RawWebSocket::pong, message.payload);
    if (message.opcode != RawWebSocket::text) continue;
    taken.bytes += static_cast<double>(message.payload.size());
    ++taken.messages;
  }
  return taken;
}

int measure(const BenchOptions& options) {
  constexpr int nodes = 256;
  const TemporaryFolder folder;
  const auto rack = write_simulated_rack(folder.path(), nodes);
  Served daemon{CATWALKD, {rack.string()}, folder.path() / "daemon.log", "http://127.0.0.1:"};
  const auto all_read = [&] { return all_nodes_read(daemon.port(), nodes); };
  if (!eventually(all_read, std::chrono::seconds{60})) return 1;
  const std::chrono::milliseconds lasts{options.rounds(20'000, 1'500)};
  const double seconds = Seconds{lasts}.count();
  std::array<Taken, 2> taken;
  {
    std::jthread whole{[&] { taken[0] = listen(daemon.port(), "", lasts); }};
    std::jthread patches{[&] { taken[1] = listen(daemon.port(), "?nodes=patches", lasts); }};
  }
  for (const auto& one : taken)
    if (one.messages == 0) return 1;
  Comparison bytes{"the feed of 256 nodes that nothing happens to",
                   "told in patches",
                   "told whole",
                   "KiB/s",
                   taken[1].bytes / 1024 / seconds,
                   taken[0].bytes / 1024 / seconds};
  bytes.ratio = bytes.our_figure / bytes.other_figure;
  bytes.reach = 0.25;
  std::printf("  messages in %.1f s: %ld in patches, %ld whole\n", seconds, taken[1].messages,
              taken[0].messages);
  return judge(bytes, options);
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
