// SPDX-License-Identifier: Apache-2.0
#pragma once
// The verdict on putting a node into settings: can the node do it, may it, does the window fit the
// plan, and what does the physics of its chain say (levels/).
// Pure: everything a rule looks at is in its arguments.

#include <functional>
#include <memory>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/plan/settings.hpp"
#include "daemon/rack/levels/known_physics.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// Every state in which an amplifier may be right now: one, or two while a change is under way.
// Empty: it has never been read, and is not to be relied on.
using PossibleSettings = std::vector<plan::Settings>;

// The rack around the node that is being checked.
struct Surroundings {
  const plan::RackPlan& plan;
  const plan::Segment& segment;
  std::function<PossibleSettings(const plan::NodeName&)> possible;
  bool locked = false;
  // Whoever checks again and again keeps it; one thread at a time.
  std::shared_ptr<KnownPhysics> physics = std::make_shared<KnownPhysics>();
};

// Turns a patch into whole settings. What the datasheet does not know becomes findings.
// A filter without tuning takes its centre with it: the centre becomes 0 unless one was asked for.
struct Proposal {
  plan::Settings settings;
  std::vector<Finding> findings;
};
Proposal propose(const plan::Node& node, const plan::Settings& base,
                 const plan::SettingsPatch& patch);

// Can the node do it: gain-range, gain-step, filter-known, centre-range, centre-step, label-length,
// label-text.
std::vector<Finding> check_datasheet(const plan::Node& node, const plan::Settings& settings);

// What of these is wrong with a label; `which`: "The label".
void check_label(const plan::NodeName& node, const std::string& label, const std::string& which,
                 std::vector<Finding>& findings);

// May it, in this plan: gain-limit, the window against carriers, transmitters and lanes, diversity.
// Precondition: the settings name a filter that the datasheet has.
std::vector<Finding> check_plan(const Surroundings& surroundings, const plan::Node& node,
                                const plan::Settings& settings);

// How many receivers that hear through this node would lose a carrier: findings of diversity-dark.
int dark_receivers(const Surroundings& surroundings, const plan::Node& node,
                   const plan::Settings& settings);

// Levels, noise and intermodulation against the plan's limits, and the published bands of the
// carriers that this node serves. Precondition: check_datasheet() has found nothing.
std::vector<Finding> check_physics(const Surroundings& surroundings, const plan::Node& node,
                                   const plan::Settings& settings);

// The settings to count with for each other node: the newest that it may be in.
SettingsOf settings_of(const Surroundings& surroundings);

std::shared_ptr<const KnownPhysics::Node> physics_of(const Surroundings& surroundings,
                                                     const plan::Node& node);

Finding show_is_locked(const plan::NodeName& node);

// All of the above and the show lock: the whole verdict on putting this node into these settings.
Verdict check(const Surroundings& surroundings, const plan::Node& node,
              const plan::Settings& settings);

}  // namespace catwalk::rack
