// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/routed.hpp"

#include <algorithm>
#include <cmath>

namespace catwalk::plan {
namespace {

const Matrix* find(const RackPlan& plan, const NodeName& name) {
  const auto found = std::ranges::find(plan.matrices, name, &Matrix::name);
  return found == plan.matrices.end() ? nullptr : &*found;
}

std::string output_name(const Matrix& matrix, std::size_t output) {
  return matrix.name.text + ", output " + std::to_string(output);
}

// From where the inputs of an output are together to the output.
void put_unit_in_front(const Matrix& matrix, std::size_t output, Branch& branch) {
  const auto& sheet = *matrix.sheet;
  const auto inputs = matrix.settings.outputs[output - 1].size();
  const auto combining = inputs == 0 ? rf::Decibel{} : sheet.combining_losses[inputs - 1];
  // A branch of several nodes has a combiner with a port for each; inputs at which nothing ends
  // are ports as well, and cost the others as much.
  const auto nodes = static_cast<double>(std::max<std::size_t>(branch.nodes.size(), 1));
  const auto counted = rf::Decibel::of(10.0 * std::log10(nodes));
  if (branch.nodes.size() > 1) branch.combiner_excess_loss = combining - counted;
  Chain chain;
  if (branch.nodes.size() <= 1 && combining > rf::Decibel{})
    chain.emplace_back(FixedLoss{output_name(matrix, output) + ", other inputs", combining});
  chain.emplace_back(RackAmplifier{output_name(matrix, output), sheet.gain, sheet.noise_figure,
                                   sheet.output_p1db, sheet.output_ip3, sheet.output_ip5});
  chain.insert(chain.end(), branch.chain.begin(), branch.chain.end());
  branch.chain = std::move(chain);
}

void route(const RackPlan& plan, Branch& branch) {
  const auto* matrix = find(plan, branch.from->matrix);
  if (matrix == nullptr) return;
  for (const auto input : matrix->settings.outputs[branch.from->output - 1])
    for (const auto& node : plan.nodes)
      if (node.ends_at == InputOf{matrix->name, input}) branch.nodes.push_back(node.name);
  put_unit_in_front(*matrix, branch.from->output, branch);
}

void trim(const RackPlan& plan, Node& node) {
  const auto* matrix = find(plan, node.ends_at->matrix);
  if (matrix == nullptr || !node.feed) return;
  const auto loss = -rf::Decibel::of(matrix->settings.trims[node.ends_at->input - 1]);
  if (loss > rf::Decibel{})
    node.feed->emplace_back(FixedLoss{
        "trim of " + matrix->name.text + ", input " + std::to_string(node.ends_at->input), loss});
}

}  // namespace

RackPlan routed(RackPlan plan) {
  for (auto& receiver : plan.receivers)
    for (auto& branch : receiver.branches)
      if (branch.from) route(plan, branch);
  for (auto& node : plan.nodes)
    if (node.ends_at) trim(plan, node);
  return plan;
}

}  // namespace catwalk::plan
