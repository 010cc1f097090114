// SPDX-License-Identifier: Apache-2.0
// How long it takes to plan the switch of a whole rack with full physics, 120 carriers: the steps
// alone, and with the verdict of every state on the way. One rack falls apart into pairs of
// antennas, the other hangs together from end to end.
#include <algorithm>
#include <cstdio>
#include <stdexcept>

#include "tests/bench/bench.hpp"
#include "tests/support/way_racks.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

// The same rack with the receivers on pairs of antennas.
Crossing pairs(int nodes, unsigned seed) {
  auto crossing = long_crossing(nodes, seed);
  auto& receivers = crossing.plan.receivers;
  for (std::size_t i = 0; i < receivers.size(); ++i) {
    const auto first = i / 2 * 2 % static_cast<std::size_t>(nodes);
    receivers[i].branches = {{{crossing.plan.nodes[first].name}},
                             {{crossing.plan.nodes[first + 1].name}}};
  }
  return crossing;
}

struct Times {
  double steps_only = 0.0;  // ms, the slowest
  double whole = 0.0;
};

Times plan_all(const char* name, Crossing (*make)(int, unsigned), int nodes, unsigned racks) {
  Times worst;
  int clean = 0;
  int proven = 0;
  int farthest = 0;
  int longest = 0;
  std::size_t findings = 0;
  for (unsigned seed = 1; seed <= racks; ++seed) {
    const auto crossing = make(nodes, seed);
    const auto task = crossing.task();
    rack::Way way;
    worst.steps_only = std::max(
        worst.steps_only,
        1e3 * time_of([&] { way = rack::plan_way(task, rack::WayDetail::steps_only); }).count());
    worst.whole = std::max(worst.whole, 1e3 * time_of([&] { way = rack::plan_way(task); }).count());
    if (way.steps.empty()) throw std::runtime_error{"nothing moves"};
    const auto steps = static_cast<int>(way.steps.size());
    clean += way.clean() ? 1 : 0;
    proven += way.least_bad && way.at_least_steps == steps ? 1 : 0;
    longest = std::max(longest, steps);
    if (way.clean()) farthest = std::max(farthest, steps - way.at_least_steps);
    findings += way.end.findings.size();
  }
  std::printf(
      "%d nodes, %s: %u racks, %d with a clean way, up to %d steps, at most %d over the lower "
      "bound, optimum proven in %d, slowest %.1f ms without and %.1f ms with verdicts (%zu "
      "findings)\n",
      nodes, name, racks, clean, longest, farthest, proven, worst.steps_only, worst.whole,
      findings);
  return worst;
}

int measure(const BenchOptions& options) {
  int status = 0;
  const auto racks = static_cast<unsigned>(options.rounds(20, 1));
  for (const int nodes : {8, 64, 256}) {
    const auto apart = plan_all("in pairs", pairs, nodes, racks);
    const auto together = plan_all("in one chain", long_crossing, nodes, racks);
    if (nodes != 64) continue;
    status |= judge("planning a switch of 64 nodes, in pairs, all verdicts", apart.whole, 1'000.0,
                    "ms", options);
    status |= judge("planning a switch of 64 nodes, in one chain, all verdicts", together.whole,
                    1'000.0, "ms", options);
  }
  return status;
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
