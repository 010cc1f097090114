// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/outlook.hpp"

#include "daemon/rack/way/members.hpp"

#include <utility>

namespace catwalk::rack {

Outlook::Outlook(SnapshotPtr snapshot, const plan::Segment& segment)
    : snapshot_{std::move(snapshot)}, segment_{&segment} {}

std::optional<plan::Settings> Outlook::in_force(const plan::NodeName& name) const {
  const auto node = snapshot_->find(name);
  return node ? rack::in_force(node->seen, node->wanted) : std::nullopt;
}

std::optional<plan::Settings> Outlook::wanted(const plan::NodeName& name) const {
  const auto node = snapshot_->find(name);
  return node && node->wanted ? std::optional{node->wanted->settings} : std::nullopt;
}

std::optional<Proposal> Outlook::planned(const plan::Node& node) const {
  return planned_in(*segment_, node, wanted(node.name));
}

Outlook::Planned Outlook::planned() const {
  Planned all;
  for (const auto& node : plan().nodes)
    if (auto proposal = planned(node)) all.emplace(node.name, *std::move(proposal));
  return all;
}

Surroundings Outlook::surroundings_as_planned(const Planned& planned) const {
  return {plan(), segment(),
          [&planned](const plan::NodeName& name) {
            const auto found = planned.find(name);
            return found == planned.end() ? PossibleSettings{}
                                          : PossibleSettings{found->second.settings};
          },
          false};
}

Surroundings Outlook::surroundings() const {
  return {plan(), segment(),
          [this](const plan::NodeName& name) {
            const auto node = snapshot_->find(name);
            return node ? node->possible : PossibleSettings{};
          },
          false};
}

}  // namespace catwalk::rack
