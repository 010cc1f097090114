// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/rack_plan.hpp"

#include <algorithm>

namespace catwalk::plan {
namespace {

template <class Items, class Key>
auto* find_by_name(const Items& items, const Key& name) {
  const auto found = std::ranges::find(items, name, &Items::value_type::name);
  return found == items.end() ? nullptr : &*found;
}

}  // namespace

std::string_view name_of(OnReturn policy) { return policy == OnReturn::hold ? "hold" : "reapply"; }

const Node* RackPlan::find(const NodeName& key) const { return find_by_name(nodes, key); }
const Segment* RackPlan::find(const SegmentName& key) const { return find_by_name(segments, key); }
const Receiver* RackPlan::find(const ReceiverName& key) const {
  return find_by_name(receivers, key);
}

bool RackPlan::serves(const Receiver& receiver, const NodeName& node) {
  return std::ranges::any_of(receiver.branches, [&](const Branch& branch) {
    return std::ranges::find(branch.nodes, node) != branch.nodes.end();
  });
}

}  // namespace catwalk::plan
