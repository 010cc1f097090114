// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/rack_plan.hpp"

#include <algorithm>

namespace catwalk::plan {
namespace {

using rf::Gain;

template <class Items, class Key>
auto* find_by_name(const Items& items, const Key& name) {
  const auto found = std::ranges::find(items, name, &Items::value_type::name);
  return found == items.end() ? nullptr : &*found;
}

}  // namespace

const Node* RackPlan::find(const NodeName& key) const { return find_by_name(nodes, key); }
const Segment* RackPlan::find(const SegmentName& key) const { return find_by_name(segments, key); }
const Receiver* RackPlan::find(const ReceiverName& key) const {
  return find_by_name(receivers, key);
}

bool Branch::has(const NodeName& node) const {
  return std::ranges::find(nodes, node) != nodes.end();
}

const Arm& Branch::arm_of(const NodeName& node) const {
  static const Arm none;
  const auto place = static_cast<std::size_t>(std::ranges::find(nodes, node) - nodes.begin());
  return place < arms.size() ? arms[place] : none;
}

rf::Decibel MatrixSheet::combining_loss(std::size_t count) const {
  const auto known = combining_losses.size();
  if (count <= known) return combining_losses[count - 1];
  const auto beyond = static_cast<double>(count) / static_cast<double>(known);
  return combining_losses.back() + rf::Decibel::from_ratio(beyond);
}

const Matrix* RackPlan::find_matrix(const NodeName& key) const {
  return find_by_name(matrices, key);
}

rf::Decibel RackPlan::external_noise(rf::Frequency at) const {
  if (!man_made_noise) return {};
  const auto* place = std::get_if<rf::NoisePlace>(&*man_made_noise);
  return std::max(rf::Decibel{}, place != nullptr ? rf::plain::man_made_noise(*place, at)
                                                  : std::get<rf::Decibel>(*man_made_noise));
}

std::optional<Steps<Gain>> RackPlan::gains_of(const Node& node) const {
  const auto& gains = node.datasheet->gains;
  const auto& held = limits_of(node);
  return held ? gains.within(held->lowest, held->highest)
              : gains.within(gains.lowest, gains.highest);
}

std::vector<ServedBranch> RackPlan::served_by(const NodeName& node) const {
  std::vector<ServedBranch> served;
  for (const auto& receiver : receivers)
    for (std::size_t i = 0; i < receiver.branches.size(); ++i)
      if (std::ranges::find(receiver.branches[i].nodes, node) != receiver.branches[i].nodes.end())
        served.push_back({receiver.name, i + 1});
  return served;
}

bool RackPlan::serves(const Receiver& receiver, const NodeName& node) {
  return std::ranges::any_of(receiver.branches, [&](const Branch& branch) {
    return std::ranges::find(branch.nodes, node) != branch.nodes.end();
  });
}

}  // namespace catwalk::plan
