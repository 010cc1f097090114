// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/meetings.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace catwalk::rack {
namespace {

using At = AmplifierKey::At;

std::size_t amplifiers_in(const plan::Chain& chain) {
  return static_cast<std::size_t>(std::ranges::count_if(chain, [](const plan::ChainPart& part) {
    return std::holds_alternative<plan::RackAmplifier>(part);
  }));
}

// How many amplifiers a branch has from the matrix that it begins at on.
std::size_t own_amplifiers(const plan::RackPlan& plan, std::size_t receiver, std::size_t branch) {
  const auto& described = plan.described ? *plan.described : plan;
  const auto& own = described.receivers[receiver].branches[branch];
  const auto* matrix = own.from ? plan.find_matrix(own.from->matrix) : nullptr;
  return amplifiers_in(own.chain) + (matrix != nullptr && matrix->supplied ? 1 : 0);
}

}  // namespace

void AmplifierKeys::add(const plan::Chain& chain, AmplifierKey key) {
  for (const auto& part : chain)
    if (const auto* amplifier = std::get_if<plan::RackAmplifier>(&part)) {
      keys_.emplace(amplifier, key);
      ++key.number;
    }
}

// Those from the first to before the last, counted from the end.
void AmplifierKeys::add_from_end(const plan::Chain& chain, AmplifierKey key, std::size_t first,
                                 std::size_t last) {
  auto left = amplifiers_in(chain);
  for (const auto& part : chain) {
    const auto* amplifier = std::get_if<plan::RackAmplifier>(&part);
    if (amplifier == nullptr) continue;
    --left;
    key.number = left - first;
    if (first <= left && left < last) keys_.emplace(amplifier, key);
  }
}

AmplifierKeys::AmplifierKeys(const plan::RackPlan& plan) {
  for (std::size_t i = 0; i < plan.nodes.size(); ++i) {
    add(plan.nodes[i].lead, {At::lead, i});
    if (plan.nodes[i].feed) add(*plan.nodes[i].feed, {At::feed, i});
  }
  for (std::size_t i = 0; i < plan.receivers.size(); ++i)
    for (std::size_t j = 0; j < plan.receivers[i].branches.size(); ++j) {
      const auto& branch = plan.receivers[i].branches[j];
      const auto own = own_amplifiers(plan, i, j);
      const auto all = amplifiers_in(branch.chain);
      add_from_end(branch.chain, {At::branch, i, j}, 0, own);
      if (all > own && !branch.arms.empty() && branch.arms.front().by)
        add_from_end(branch.chain, {At::arm, i, j, 0, *branch.arms.front().by}, own, all);
      for (const auto& arm : branch.arms)
        if (arm.by) add_from_end(arm.chain, {At::arm, i, j, 0, *arm.by}, 0, all + arm.chain.size());
    }
}

AmplifierKey AmplifierKeys::of(const AmplifierOnTheWay& amplifier, std::size_t node) const {
  if (amplifier.in_rack == nullptr) return {At::node, node};
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

namespace {

Powers all_of(Meeting::Routes routes) {
  Powers powers = std::move(routes.direct);
  for (auto& [output, before] : routes.before)
    add(powers,
        forked(before.matrix, std::move(before.by_old_routes), std::move(before.by_new_routes)));
  return powers;
}

}  // namespace

Meeting whole(Meeting meeting) {
  auto before = all_of(std::move(meeting.by_old_routes));
  add(meeting.powers, meeting.matrix ? forked(*meeting.matrix, std::move(before),
                                              all_of(std::move(meeting.by_new_routes)))
                                     : std::move(before));
  return meeting;
}

}  // namespace catwalk::rack
