// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/routed.hpp"

#include <algorithm>
#include <cmath>

namespace catwalk::plan {
namespace {

std::string output_name(const Matrix& matrix, std::size_t output) {
  return matrix.name.text + ", output " + std::to_string(output);
}

// From where the inputs of an output are together to the output.
void put_unit_in_front(const Matrix& matrix, std::size_t output, Branch& branch) {
  const auto& sheet = *matrix.sheet;
  if (!matrix.supplied) {
    const auto loss = sheet.unsupplied ? sheet.unsupplied->loss : rf::Decibel{};
    branch.chain.insert(branch.chain.begin(),
                        FixedLoss{output_name(matrix, output) + ", without supply", loss});
    return;
  }
  const auto inputs = taken_by(matrix, output).size();
  const auto combining = inputs == 0 ? rf::Decibel{} : sheet.combining_loss(inputs);
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
  const auto* matrix = plan.find_matrix(branch.from->matrix);
  if (matrix == nullptr) return;
  for (const auto input : taken_by(*matrix, branch.from->output))
    if (const auto* node = at_input(plan, {matrix->name, input}))
      branch.nodes.push_back(node->name);
  put_unit_in_front(*matrix, branch.from->output, branch);
}

void trim(const RackPlan& plan, Node& node) {
  const auto* matrix = plan.find_matrix(node.ends_at->matrix);
  if (matrix == nullptr || !matrix->supplied || !node.feed) return;
  const auto loss = -rf::Decibel::of(matrix->settings.inputs[node.ends_at->input - 1].trim);
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

std::shared_ptr<const RackPlan> routed(const RackPlan& plan, const MatricesNow& now) {
  const auto described = plan.described ? plan.described : std::make_shared<const RackPlan>(plan);
  auto next = *described;
  for (std::size_t i = 0; i < next.matrices.size(); ++i) {
    auto& matrix = next.matrices[i];
    matrix.settings = plan.matrices[i].settings;
    matrix.supplied = plan.matrices[i].supplied;
    const auto set = now.find(matrix.name);
    if (set == now.end() || !matrix.sheet->fits(set->second.settings)) continue;
    matrix.settings = set->second.settings;
    matrix.supplied = set->second.supplied;
  }
  next = routed(std::move(next));
  next.described = described;
  return std::make_shared<const RackPlan>(std::move(next));
}

const Inputs& taken_by(const Matrix& matrix, std::size_t output) {
  static const Inputs nothing;
  if (matrix.supplied) return matrix.settings.outputs[output - 1];
  const auto& passive = matrix.sheet->unsupplied;
  return passive ? passive->outputs[output - 1] : nothing;
}

std::uint16_t fed_by(const Matrix& matrix, std::size_t input) {
  return matrix.supplied ? matrix.settings.inputs[input - 1].supply_mv : std::uint16_t{0};
}

const Node* at_input(const RackPlan& plan, const InputOf& input) {
  const auto found = std::ranges::find(plan.nodes, std::optional{input}, &Node::ends_at);
  return found == plan.nodes.end() ? nullptr : &*found;
}

}  // namespace catwalk::plan
