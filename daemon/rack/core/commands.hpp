// SPDX-License-Identifier: Apache-2.0
#pragma once
// Commands to nodes and lines that change no settings: locate, store, reclaim, discover.
// Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void on_request(Turn& turn, const LocateRequested& event);
void on_request(Turn& turn, const LocateFoundRequested& event);
void on_request(Turn& turn, const StoreRequested& event);
void on_request(Turn& turn, const ReclaimRequested& event);
void on_request(Turn& turn, const DiscoverRequested& event);

}  // namespace catwalk::rack
