// SPDX-License-Identifier: Apache-2.0
#pragma once
// if-power-fails, as a note: without its supply an amplifier at an antenna is a plain one.

#include <vector>

#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// What would be lost if the node's power failed now: a note. Nothing, where what is behind the node
// is not known.
std::vector<Finding> if_power_fails(const NodePhysics& physics, const Budget& now,
                                    SharedSearches* shared = nullptr);

}  // namespace catwalk::rack
