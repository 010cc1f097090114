// SPDX-License-Identifier: Apache-2.0
// How long it takes to plan the switch of a whole rack with full physics, 120 carriers: the steps
// alone, and with the verdict of every state on the way. One rack falls apart into pairs of
// antennas, the next hangs together from end to end, and the last does so behind four matrices,
// whose routes move as well.
#include <algorithm>
#include <cstdio>
#include <random>
#include <stdexcept>
#include <string>

#include "daemon/plan/routed.hpp"
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

constexpr std::size_t inputs_of_one = 16;

plan::Matrix matrix_no(std::size_t number) {
  plan::MatrixSheet sheet;
  sheet.type = sheet.title = "summer";
  sheet.inputs = inputs_of_one;
  sheet.outputs = 2 * inputs_of_one;
  sheet.combining_losses = {rf::Decibel{}, rf::Decibel::of(3.4)};
  sheet.gain = rf::Decibel::of(3);
  sheet.noise_figure = rf::Decibel::of(6);
  sheet.output_p1db = rf::PowerLevel::dbm(18);
  sheet.output_ip3 = rf::PowerLevel::dbm(34);
  plan::Matrix matrix;
  matrix.name = {"x" + std::to_string(number)};
  matrix.settings = sheet.nothing_set();
  matrix.sheet = std::make_shared<const plan::MatrixSheet>(std::move(sheet));
  matrix.on_line = plan::OnLine{NodeUid::from_bits(900 + static_cast<unsigned>(number)), {"grid"}};
  return matrix;
}

std::size_t number_in(const auto& name) { return std::stoul(name.text.substr(1)); }

// The long rack with its antennas at the inputs of matrices, sixteen at each, and its branches at
// their outputs. A branch that would hear antennas of another matrix is not there. Of some
// receivers that are no neighbours the two outputs change their routes.
Crossing behind_matrices(int nodes, unsigned seed) {
  auto crossing = long_crossing(nodes, seed);
  auto plan = crossing.plan;
  std::mt19937 random{seed};
  for (std::size_t i = 0; i < plan.nodes.size(); ++i) {
    const auto at = i / inputs_of_one;
    if (at == plan.matrices.size()) plan.matrices.push_back(matrix_no(at));
    plan.nodes[i].ends_at = plan::InputOf{plan.matrices[at].name, i % inputs_of_one + 1};
  }
  std::vector<plan::MatrixSettings> after;
  for (const auto& matrix : plan.matrices) after.push_back(matrix.settings);
  std::size_t swapped = 0;  // the last of them
  for (auto& receiver : plan.receivers) {
    const auto i = number_in(receiver.name);
    auto& matrix = plan.matrices[i / inputs_of_one];
    std::vector<plan::Branch> branches;
    std::vector<std::size_t> outputs;
    for (const auto& branch : receiver.branches) {
      plan::Inputs inputs;
      for (const auto& name : branch.nodes)
        if (number_in(name) / inputs_of_one == i / inputs_of_one)
          inputs.push_back(number_in(name) % inputs_of_one + 1);
      if (inputs.empty()) continue;
      outputs.push_back(2 * (i % inputs_of_one) + branches.size() + 1);
      matrix.settings.outputs[outputs.back() - 1] = inputs;
      branches.emplace_back();
      branches.back().from = plan::OutputOf{matrix.name, outputs.back()};
    }
    receiver.branches = std::move(branches);
    auto& then = after[i / inputs_of_one].outputs;
    for (const auto output : outputs) then[output - 1] = matrix.settings.outputs[output - 1];
    if (outputs.size() == 2 && i > swapped + 1 && random() % 4 == 0) {
      std::swap(then[outputs[0] - 1], then[outputs[1] - 1]);
      swapped = i;
    }
  }
  for (std::size_t i = 0; i < plan.matrices.size(); ++i)
    crossing.nodes.push_back({plan.matrices[i].name, plan.matrices[i].settings, after[i]});
  crossing.plan = *plan::routed(plan, plan::MatricesNow{});
  return crossing;
}

struct Times {
  double steps_only = 0.0;  // ms, the slowest
  double whole = 0.0;
  double typical = 0.0;  // the whole, median
};

Times plan_all(const char* name, Crossing (*make)(int, unsigned), int nodes, unsigned racks) {
  Times worst;
  int clean = 0;
  int proven = 0;
  int farthest = 0;
  int longest = 0;
  std::size_t findings = 0;
  std::vector<double> wholes;
  for (unsigned seed = 1; seed <= racks; ++seed) {
    const auto crossing = make(nodes, seed);
    const auto task = crossing.task();
    rack::Way way;
    worst.steps_only = std::max(
        worst.steps_only,
        1e3 * time_of([&] { way = rack::plan_way(task, rack::WayDetail::steps_only); }).count());
    wholes.push_back(1e3 * time_of([&] { way = rack::plan_way(task); }).count());
    worst.whole = std::max(worst.whole, wholes.back());
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
  worst.typical = median(wholes);
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
    const auto routed = plan_all("in one chain, behind 4 matrices", behind_matrices, nodes, racks);
    status |= judge("planning a switch of 64 nodes and 4 matrices, all verdicts", routed.whole,
                    1'000.0, "ms", options);
    status |= judge({.name = "all verdicts with matrices against without",
                     .ours = "64 nodes and 4 matrices",
                     .other = "64 nodes",
                     .unit = "ms",
                     .our_figure = routed.typical,
                     .other_figure = together.typical,
                     .ratio = routed.typical / together.typical,
                     .at_most = true,
                     .reach = 3.0},
                    options);
  }
  return status;
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
