// SPDX-License-Identifier: Apache-2.0
#pragma once
// Which segment is on the air, and whether the rack is locked for it. Internal to the room.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void on_request(Turn& turn, const SegmentRequested& event);
void on_request(Turn& turn, const LockRequested& event);

}  // namespace catwalk::rack
