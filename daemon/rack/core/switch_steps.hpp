// SPDX-License-Identifier: Apache-2.0
#pragma once
// The steps of a way, one after the other. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void begin_step(Turn& turn);

}  // namespace catwalk::rack
