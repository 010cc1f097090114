// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/meetings.hpp"

#include <iterator>
#include <utility>

namespace catwalk::rack {

AmplifierKeys::AmplifierKeys(const plan::RackPlan& plan) {
  using At = AmplifierKey::At;
  const auto add = [this](const plan::Chain& chain, AmplifierKey key, bool from_end) {
    std::vector<const plan::RackAmplifier*> all;
    for (const auto& part : chain)
      if (const auto* amplifier = std::get_if<plan::RackAmplifier>(&part)) all.push_back(amplifier);
    for (std::size_t i = 0; i < all.size(); ++i) {
      key.number = from_end ? all.size() - 1 - i : i;
      keys_.emplace(all[i], key);
    }
  };
  for (std::size_t i = 0; i < plan.nodes.size(); ++i) {
    add(plan.nodes[i].lead, {At::lead, i, 0, 0}, false);
    if (plan.nodes[i].feed) add(*plan.nodes[i].feed, {At::feed, i, 0, 0}, false);
  }
  for (std::size_t i = 0; i < plan.receivers.size(); ++i)
    for (std::size_t j = 0; j < plan.receivers[i].branches.size(); ++j)
      add(plan.receivers[i].branches[j].chain, {At::branch, i, j, 0}, true);
}

AmplifierKey AmplifierKeys::of(const AmplifierOnTheWay& amplifier, std::size_t node) const {
  if (amplifier.in_rack == nullptr) return {AmplifierKey::At::node, node, 0, 0};
  return keys_.at(amplifier.in_rack);
}

void add(Powers& all, Powers more) {
  all.steady += more.steady;
  std::ranges::move(more.nodes, std::back_inserter(all.nodes));
  std::ranges::move(more.loudness, std::back_inserter(all.loudness));
  std::ranges::move(more.forks, std::back_inserter(all.forks));
}

Powers forked(std::size_t matrix, Powers before, Powers after) {
  if (before == after) return before;
  Powers powers;
  powers.forks.push_back({matrix, std::move(before), std::move(after)});
  return powers;
}

void add_switched(Meeting& meeting, const AmplifierKey& key, std::size_t matrix, Powers before,
                  Powers after) {
  if (key.at != AmplifierKey::At::branch)
    return add(meeting.powers, forked(matrix, std::move(before), std::move(after)));
  meeting.matrix = matrix;
  add(meeting.by_old_routes, std::move(before));
  add(meeting.by_new_routes, std::move(after));
}

Meeting whole(Meeting meeting) {
  if (meeting.matrix)
    add(meeting.powers, forked(*meeting.matrix, meeting.by_old_routes, meeting.by_new_routes));
  return meeting;
}

}  // namespace catwalk::rack
