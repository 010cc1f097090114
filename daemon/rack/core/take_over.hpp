// SPDX-License-Identifier: Apache-2.0
#pragma once
// A person takes the nodes over, or they are found to be nobody's. Internal to the room.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void on_request(Turn& turn, const TakeOverRequested& event);

}  // namespace catwalk::rack
