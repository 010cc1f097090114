// SPDX-License-Identifier: Apache-2.0
#pragma once
// What must never be sent to a node, told a second time and without the rules'
// own code: straight from the datasheet, the limits, the microphones and the
// transmitters. Fewer things than the rules refuse, and none that they do not.
// Only for the load of the node's own amplifier it asks the physics, which has
// references of its own.

#include <optional>
#include <string>

#include "daemon/plan/rack_plan.hpp"

namespace catwalk::simulation {

// Why; nothing: it may be sent. What other nodes have does not matter to
// anything looked at here.
std::optional<std::string> refused_by_hand(const plan::RackPlan& plan, const plan::Segment& segment,
                                           const plan::Node& node, const plan::Settings& settings);

}  // namespace catwalk::simulation
