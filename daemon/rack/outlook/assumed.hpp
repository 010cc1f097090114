// SPDX-License-Identifier: Apache-2.0
#pragma once
// What levels and margins rest on that nobody measured, and what it may cost if it is otherwise.

#include <string>
#include <vector>

#include "daemon/rack/levels/budget.hpp"
#include "daemon/rack/levels/node_physics.hpp"

namespace catwalk::rack {

// A sentence each, with its source. `budget` is of this node as it is explained.
std::vector<std::string> assumptions(const plan::RackPlan& plan, const NodePhysics& physics,
                                     const Budget& budget);

}  // namespace catwalk::rack
