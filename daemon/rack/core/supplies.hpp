// SPDX-License-Identifier: Apache-2.0
#pragma once
// What an antenna gets up its cable, told once, by its cause: what its amplifier raises follows
// from that. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// After a reading of this node: of a matrix all that it feeds, of an amplifier its own input.
void look_at_supplies(Turn& turn, const NodeState& node);

}  // namespace catwalk::rack
