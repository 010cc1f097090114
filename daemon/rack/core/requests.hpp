// SPDX-License-Identifier: Apache-2.0
#pragma once
// What people ask of nodes and of the rack. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void on_request(Turn& turn, const ChangeRequested& event);
void on_request(Turn& turn, const AdoptRequested& event);
void on_request(Turn& turn, const ReapplyRequested& event);
void on_request(Turn& turn, const SegmentRequested& event);
void on_request(Turn& turn, const LockRequested& event);
void on_request(Turn& turn, const LocateRequested& event);
void on_request(Turn& turn, const LocateFoundRequested& event);
void on_request(Turn& turn, const StoreRequested& event);
void on_request(Turn& turn, const ReclaimRequested& event);
void on_request(Turn& turn, const DiscoverRequested& event);
void on_request(Turn& turn, const TakeOverRequested& event);

}  // namespace catwalk::rack
