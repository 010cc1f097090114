// SPDX-License-Identifier: Apache-2.0
#pragma once
// What others see of the rack. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// A new snapshot if anything visible changed; the parts that did not are shared with the last one.
void publish(Turn& turn);

}  // namespace catwalk::rack
