// SPDX-License-Identifier: Apache-2.0
// Resident memory of the daemon with 256 simulated nodes, all of them read. The nodes themselves
// are simulated in the same process, and counted with it.
#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>

#include "tests/bench/bench.hpp"
#include "tests/support/raw_socket.hpp"

using namespace catwalk::test;

namespace {

double resident_mib(int pid) {
  std::ifstream status{"/proc/" + std::to_string(pid) + "/status"};
  for (std::string line; std::getline(status, line);)
    if (line.starts_with("VmRSS:")) return std::stod(line.substr(6)) / 1024;
  return 0;
}

int measure(const BenchOptions& options) {
  constexpr int nodes = 256;
  const TemporaryFolder folder;
  const auto rack = write_simulated_rack(folder.path(), nodes);
  Served daemon{CATWALKD, {rack.string()}, folder.path() / "daemon.log", "http://127.0.0.1:"};
  const auto all_read = [&] { return all_nodes_read(daemon.port(), nodes); };
  if (!eventually(all_read, std::chrono::seconds{60})) return 1;
  // The journal has written down that it met them, and a while has passed.
  double most = 0;
  for (int look = 0; look < options.rounds(50, 3); ++look) {
    all_read();
    most = std::max(most, resident_mib(daemon.process().pid()));
  }
  if (most == 0) return 1;
  return judge("memory of the daemon, 256 simulated nodes, all read", most, 40, "MiB", options);
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
