// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/known_physics.hpp"

#include <algorithm>

#include "daemon/rack/levels/other_node.hpp"
#include "daemon/rack/levels/tuned_node.hpp"

namespace catwalk::rack {

const Budget& KnownPhysics::Node::passive() const {
  if (!passive_) passive_ = TunedNode::passive(physics_, &searches_).at(rf::Gain{});
  return *passive_;
}

// What does not hold any more is made anew, and takes its place; the oldest go.
template <class T, class Holds, class Make>
std::shared_ptr<const T> KnownPhysics::find(Entries<T>& entries, std::size_t most,
                                            const plan::Segment& segment, const plan::Node& node,
                                            const Holds& holds, const Make& make) {
  auto found = std::ranges::find_if(entries, [&](const Entry<T>& entry) {
    return entry.segment == &segment && entry.node == &node;
  });
  if (found == entries.end()) found = entries.insert(entries.end(), {&segment, &node, make()});
  if (!holds(*found->known)) found->known = make();
  std::rotate(entries.begin(), found, std::next(found));
  if (entries.size() > most) entries.pop_back();
  return entries.front().known;
}

std::shared_ptr<const KnownPhysics::Node> KnownPhysics::of(const plan::RackPlan& plan,
                                                           const plan::Segment& segment,
                                                           const plan::Node& node,
                                                           const SettingsOf& others) {
  const auto is_in = [&](const OtherNode& other) {
    return other.settings() == others(other.node().name);
  };
  // By the same feed it may come to two combiners by other arms: what is kept is made anew then.
  const auto beside = [&](const plan::Node& other, const plan::Chain& arm) {
    const auto comes_so = [&](const OtherNode& known) {
      return is_in(known) && known.arm() == arm;
    };
    return find(others_, most_others, segment, other, comes_so, [&] {
      return std::make_shared<const OtherNode>(plan, segment, other, arm, others(other.name));
    });
  };
  const auto holds = [&](const Node& known) {
    const auto& physics = known.physics();
    return std::ranges::all_of(physics.others(),
                               [&](const auto& other) { return is_in(*other); }) &&
           std::ranges::all_of(physics.beside(), [&](const NodePhysics::Beside& branch) {
             return branch.settings == others(branch.node->name);
           });
  };
  const auto before = nodes_.empty() ? nullptr : nodes_.front().known;
  auto known = find(nodes_, most_nodes, segment, node, holds, [&] {
    return std::make_shared<const Node>(
        NodePhysics{plan, segment, node, others, Neighbours{beside}});
  });
  if (before && before != known) before->searches_ = {};
  return known;
}

}  // namespace catwalk::rack
