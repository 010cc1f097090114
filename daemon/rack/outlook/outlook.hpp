// SPDX-License-Identifier: Apache-2.0
#pragma once
// A snapshot as those find it who look ahead: the rack around a node, in any segment of the show,
// with the settings that are in force now. Asks nothing of the core.

#include <map>
#include <optional>

#include "daemon/rack/rules/rules.hpp"
#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::rack {

class Outlook {
 public:
  // `segment` is one of the snapshot's plan, which is kept alive.
  Outlook(SnapshotPtr snapshot, const plan::Segment& segment);

  const plan::RackPlan& plan() const { return *snapshot_->plan; }
  const plan::Segment& segment() const { return *segment_; }
  // With every matrix as this segment has it, on top of what is wanted of it.
  const plan::RackPlan& plan_as_planned() const { return *planned_plan_; }

  // Seen if it was ever read, else wanted; without supply it has no power. Nothing: never met.
  std::optional<plan::Settings> in_force(const plan::NodeName& node) const;
  std::optional<plan::Settings> wanted(const plan::NodeName& node) const;
  // What the plan of this segment has for the node, on top of what is wanted of it. Nothing: it was
  // never met, and the plan does not say everything.
  std::optional<Proposal> planned(const plan::Node& node) const;

  // The same of all nodes that it is known of.
  using Planned = std::map<plan::NodeName, Proposal>;
  Planned planned() const;
  // With every node and every matrix where the plan has it. Refers to this, and to `planned`.
  Surroundings surroundings_as_planned(const Planned& planned) const;

  // Whoever looks ahead is not held up by the show lock. Refers to this.
  Surroundings surroundings() const;

 private:
  SnapshotPtr snapshot_;
  const plan::Segment* segment_;
  std::shared_ptr<const plan::RackPlan> planned_plan_;  // that of the snapshot, if none moves
};

}  // namespace catwalk::rack
