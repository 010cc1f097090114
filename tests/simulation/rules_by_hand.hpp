// SPDX-License-Identifier: Apache-2.0
#pragma once
// What must never be sent to a node, told a second time and without the rules'
// own code: straight from the datasheet, the limits, the microphones and the
// transmitters. Fewer things than the rules refuse, and none that they do not.
// Only for the load of the node's own amplifier it asks the physics, which has
// references of its own.

#include <functional>
#include <optional>
#include <string>

#include "daemon/plan/device.hpp"
#include "daemon/plan/node_settings.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::simulation {

// How a matrix is set. Null: nobody knows for certain, and nothing is refused for its routes.
using RoutesOf = std::function<const plan::MatrixSettings*(const plan::NodeName&)>;

// Why; nothing: it may be sent. What other nodes have does not matter to anything looked at here,
// but for the routes of matrices. `supplied`: the device; a matrix without supply routes and feeds
// nothing, however it is set. Precondition: the settings are of the device's kind.
std::optional<std::string> refused_by_hand(const plan::RackPlan& plan, const plan::Segment& segment,
                                           const plan::Device& device,
                                           const plan::NodeSettings& settings,
                                           const RoutesOf& routes, bool supplied);

}  // namespace catwalk::simulation
