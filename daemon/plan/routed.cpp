// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/routed.hpp"

#include <algorithm>
#include <cmath>

namespace catwalk::plan {
namespace {

std::string output_name(const Matrix& matrix, std::size_t output) {
  return matrix.name.text + ", output " + std::to_string(output);
}

void add(Chain& chain, const Chain& more) { chain.insert(chain.end(), more.begin(), more.end()); }

// From where the inputs of an output are together to the output.
struct Through {
  Chain chain;
  rf::Decibel excess_loss;  // of its combiner, beyond 10·lg of the antennas that come together
};

Through through(const Matrix& matrix, std::size_t output, std::size_t antennas) {
  const auto& sheet = *matrix.sheet;
  const auto name = output_name(matrix, output);
  if (!matrix.supplied) {
    const auto loss = sheet.unsupplied ? sheet.unsupplied->loss : rf::Decibel{};
    return {{FixedLoss{name + ", without supply", loss}}, {}};
  }
  const auto inputs = taken_by(matrix, output).size();
  const auto combining = inputs == 0 ? rf::Decibel{} : sheet.combining_loss(inputs);
  // A branch of several nodes has a combiner with a port for each; inputs at which nothing ends
  // are ports as well, and cost the others as much.
  Through all;
  if (antennas > 1)
    all.excess_loss = combining - rf::Decibel::of(10.0 * std::log10(static_cast<double>(antennas)));
  else if (combining > rf::Decibel{})
    all.chain.emplace_back(FixedLoss{name + ", other inputs", combining});
  all.chain.emplace_back(RackAmplifier{name, sheet.gain, sheet.noise_figure, sheet.output_p1db,
                                       sheet.output_ip3, sheet.output_ip5});
  return all;
}

void add_trim(const Matrix& matrix, std::size_t input, Chain& chain) {
  if (!matrix.supplied) return;
  const auto loss = -rf::Decibel::of(matrix.settings.inputs[input - 1].trim);
  if (loss > rf::Decibel{})
    chain.emplace_back(
        FixedLoss{"trim of " + matrix.name.text + ", input " + std::to_string(input), loss});
}

// What comes to an output by one of its inputs.
struct Group {
  std::vector<NodeName> nodes;   // not empty
  std::optional<Before> before;  // the output of another matrix that they come by
  std::size_t input = 1;         // at which that ends
};

std::vector<Group> groups_of(const RackPlan& plan, const Matrix& matrix, std::size_t output) {
  std::vector<Group> groups;
  for (const auto input : taken_by(matrix, output)) {
    Group group{{}, before_input(plan, {matrix.name, input}), input};
    if (const auto* node = at_input(plan, {matrix.name, input})) group.nodes = {node->name};
    if (const auto& before = group.before)
      for (const auto taken : taken_by(*before->matrix, before->output))
        if (const auto* node = at_input(plan, {before->matrix->name, taken}))
          group.nodes.push_back(node->name);
    if (!group.nodes.empty()) groups.push_back(std::move(group));
  }
  return groups;
}

// From the output before to the second matrix, its trim counted.
Chain onward_chain(const Group& group, const Matrix& matrix) {
  auto chain = group.before->onward->chain;
  add_trim(matrix, group.input, chain);
  return chain;
}

// All come by one output of another matrix, if by any: what they pass is the branch's.
void route_one(const Group& group, const Matrix& matrix, std::size_t output, Branch& branch) {
  branch.nodes = group.nodes;
  Chain chain;
  if (const auto& before = group.before) {
    auto first = through(*before->matrix, before->output, group.nodes.size());
    branch.combiner_excess_loss = first.excess_loss;
    branch.arms.assign(group.nodes.size(), Arm{before->by(), {}});
    chain = std::move(first.chain);
    add(chain, onward_chain(group, matrix));
  }
  add(chain, through(matrix, output, 1).chain);
  add(chain, branch.chain);
  branch.chain = std::move(chain);
}

void route_several(const std::vector<Group>& groups, const Matrix& matrix, std::size_t output,
                   Branch& branch) {
  const bool any_before =
      std::ranges::any_of(groups, [](const Group& group) { return group.before.has_value(); });
  for (const auto& group : groups) {
    Arm arm;
    if (const auto& before = group.before) {
      arm = {before->by(), through(*before->matrix, before->output, 1).chain};
      add(arm.chain, onward_chain(group, matrix));
    }
    for (const auto& name : group.nodes) {
      if (branch.has(name)) continue;  // by another way as well
      branch.nodes.push_back(name);
      if (any_before) branch.arms.push_back(arm);
    }
  }
  auto all = through(matrix, output, branch.nodes.size());
  branch.combiner_excess_loss = all.excess_loss;
  add(all.chain, branch.chain);
  branch.chain = std::move(all.chain);
}

void route(const RackPlan& plan, Branch& branch) {
  const auto* matrix = plan.find_matrix(branch.from->matrix);
  if (matrix == nullptr) return;
  const auto output = branch.from->output;
  const auto groups = groups_of(plan, *matrix, output);
  if (groups.size() > 1) return route_several(groups, *matrix, output, branch);
  route_one(groups.empty() ? Group{} : groups.front(), *matrix, output, branch);
}

void trim(const RackPlan& plan, Node& node) {
  const auto* matrix = plan.find_matrix(node.ends_at->matrix);
  if (matrix != nullptr && node.feed) add_trim(*matrix, node.ends_at->input, *node.feed);
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

std::optional<Before> before_input(const RackPlan& plan, const InputOf& input) {
  for (const auto& matrix : plan.matrices)
    for (const auto& [output, onward] : matrix.onward)
      if (onward.to == input) return Before{&matrix, output, &onward};
  return std::nullopt;
}

bool leads_through(const Branch& branch, const Matrix& matrix) {
  if (!branch.from) return false;
  return branch.from->matrix == matrix.name ||
         std::ranges::any_of(matrix.onward, [&](const auto& onward) {
           return onward.second.to.matrix == branch.from->matrix;
         });
}

// Where all come by one output of a matrix before, what they pass there is the branch's.
OutputOf summed_at(const Branch& branch) {
  const bool before =
      !branch.arms.empty() && branch.arms.front().by && branch.arms.front().chain.empty();
  return before ? *branch.arms.front().by : *branch.from;
}

std::size_t input_at(const RackPlan& plan, const Node& node, const Branch& branch) {
  const auto at = summed_at(branch);
  const auto& by = branch.arm_of(node.name).by;
  if (!by || by == at) return node.ends_at->input;
  return plan.find_matrix(by->matrix)->onward.at(by->output).to.input;
}

bool is_plugged(const RackPlan& plan, const InputOf& input) {
  return at_input(plan, input) != nullptr || before_input(plan, input).has_value();
}

}  // namespace catwalk::plan
