// SPDX-License-Identifier: Apache-2.0
// GET of a node from the daemon, against a bare Beast server that returns the same bytes: requests
// answered a second, by one thread each, over eight connections with one request under way on each.
#include <fstream>

#include "tests/bench/bench.hpp"
#include "tests/bench/load.hpp"
#include "tests/support/raw_socket.hpp"

using namespace catwalk::test;

namespace {

int measure(const BenchOptions& options) {
  const TemporaryFolder folder;
  const auto rack = write_simulated_rack(folder.path(), 8);
  Served daemon{CATWALKD,
                {"--log", "info", rack.string()},
                folder.path() / "daemon.log",
                "http://127.0.0.1:"};
  const std::string request =
      "GET /api/v1/nodes/n3 HTTP/1.1\r\nHost: 127.0.0.1\r\nAccept: application/json\r\n\r\n";
  RawResponse answer;
  if (!eventually([&] {
        answer = ask_http(daemon.port(), request);
        return answer.status == 200 && answer.body.find("\"seen\"") != std::string::npos;
      }))
    return 1;

  // What the daemon says, as the bare server's answer.
  std::ofstream{folder.path() / "answer", std::ios::binary} << answer.head << answer.body;
  Served bare{
      BARE_SERVER, {(folder.path() / "answer").string()}, folder.path() / "bare.log", "ready "};
  const auto same = ask_http(bare.port(), request);
  if (same.body != answer.body || same.head != answer.head) return 1;

  constexpr int connections = 8;
  std::vector<double> ours;
  std::vector<double> others;
  std::vector<double> ratios;
  Load our_load{daemon.port(), request, connections};
  Load other_load{bare.port(), request, connections};
  const Seconds time{options.smoke ? 0.05 : 0.5};
  our_load.run(time);
  other_load.run(time);
  for (int round = 0; round < options.rounds(21, 2); ++round) {
    ours.push_back(our_load.run(time));
    others.push_back(other_load.run(time));
    ratios.push_back(ours.back() / others.back());
  }
  return judge({.name = "GET of a node, " + std::to_string(answer.body.size()) + " bytes",
                .ours = "daemon",
                .other = "bare Beast server",
                .unit = "requests/s",
                .our_figure = median(ours),
                .other_figure = median(others),
                .ratio = median(ratios),
                .at_most = false,
                .reach = 0.9},
               options);
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
