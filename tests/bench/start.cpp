// SPDX-License-Identifier: Apache-2.0
// From the start of the daemon's process to its first answer, with all of 256 nodes in it, on a
// journal that knows them already.
#include <cstdio>
#include <thread>

#include "tests/bench/bench.hpp"
#include "tests/support/raw_socket.hpp"

using namespace catwalk::test;

namespace {

constexpr int nodes = 256;

// The answer to the first GET that gets one; empty: nobody listens yet.
std::string first_answer(std::uint16_t port) {
  try {
    return ask_http(port, "GET /api/v1/nodes HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n").body;
  } catch (const std::runtime_error&) {
    return {};
  }
}

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t found = 0;
  for (std::size_t at = 0; (at = text.find(part, at)) != std::string::npos; ++at) ++found;
  return found;
}

int measure(const BenchOptions& options) {
  const TemporaryFolder folder;
  const auto rack = write_simulated_rack(folder.path(), nodes);
  std::uint16_t port = 0;
  {
    Served once{CATWALKD, {rack.string()}, folder.path() / "daemon.log", "http://127.0.0.1:"};
    port = once.port();
    if (!eventually([&] { return count(first_answer(port), "\"wanted\"") == nodes; },
                    std::chrono::seconds{60}))
      return 1;
  }
  std::vector<double> times;
  for (int round = 0; round < options.rounds(21, 2); ++round) {
    std::string answer;
    const auto begin = std::chrono::steady_clock::now();
    Process daemon{
        CATWALKD, {"--port", std::to_string(port), rack.string()}, folder.path() / "daemon.log"};
    while ((answer = first_answer(port)).empty() && daemon.running())
      std::this_thread::sleep_for(std::chrono::microseconds{200});
    times.push_back(1e3 * Seconds{std::chrono::steady_clock::now() - begin}.count());
    if (count(answer, "\"wanted\"") != nodes) return 1;
  }
  std::printf("start to first answer, worst of %zu: %.1f ms\n", times.size(), quantile(times, 1.0));
  return judge("start to first answer, 256 nodes, warm journal, median", median(times), 200, "ms",
               options);
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
