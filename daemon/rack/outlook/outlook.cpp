// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/outlook.hpp"

#include "daemon/plan/routed.hpp"
#include "daemon/rack/way/members.hpp"

#include <utility>

namespace catwalk::rack {

namespace {

std::shared_ptr<const plan::RackPlan> routed_as_planned(const Snapshot& snapshot,
                                                        const plan::Segment& segment) {
  plan::MatricesNow moved;
  for (const auto& view : snapshot.matrices) {
    const auto* matrix = snapshot.plan->find_matrix(view->name);
    if (matrix == nullptr || !matrix->on_line || !view->wanted) continue;
    const auto there =
        planned_in(segment, plan::Device{*matrix}, std::optional{view->wanted->settings});
    if (!there || there->settings.matrix() == nullptr) continue;
    const plan::MatrixNow then{*there->settings.matrix(), true};
    if (then != plan::MatrixNow{matrix->settings, matrix->supplied})
      moved.emplace(matrix->name, then);
  }
  return moved.empty() ? snapshot.plan : plan::routed(*snapshot.plan, moved);
}

}  // namespace

Outlook::Outlook(SnapshotPtr snapshot, const plan::Segment& segment)
    : snapshot_{std::move(snapshot)},
      segment_{&segment},
      planned_plan_{routed_as_planned(*snapshot_, segment)} {}

std::optional<plan::Settings> Outlook::in_force(const plan::NodeName& name) const {
  const auto node = snapshot_->find(name);
  return node ? plan::amplifier_of(rack::in_force(node->seen, node->wanted)) : std::nullopt;
}

std::optional<plan::Settings> Outlook::wanted(const plan::NodeName& name) const {
  const auto node = snapshot_->find(name);
  return node && node->wanted ? plan::amplifier_of(node->wanted->settings) : std::nullopt;
}

std::optional<Proposal> Outlook::planned(const plan::Node& node) const {
  auto there = planned_in(*segment_, plan::Device{node}, wanted(node.name));
  if (!there || there->settings.amplifier() == nullptr) return std::nullopt;
  return Proposal{*there->settings.amplifier(), std::move(there->findings)};
}

Outlook::Planned Outlook::planned() const {
  Planned all;
  for (const auto& node : plan().nodes)
    if (auto proposal = planned(node)) all.emplace(node.name, *std::move(proposal));
  return all;
}

Surroundings Outlook::surroundings_as_planned(const Planned& planned) const {
  return {plan_as_planned(), segment(),
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
            PossibleSettings states;
            if (const auto node = snapshot_->find(name))
              for (const auto& settings : node->possible)
                if (const auto* own = settings.amplifier()) states.push_back(*own);
            return states;
          },
          false};
}

}  // namespace catwalk::rack
