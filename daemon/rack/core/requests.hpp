// SPDX-License-Identifier: Apache-2.0
#pragma once
// What people ask of a node's settings. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void on_request(Turn& turn, const ChangeRequested& event);
void on_request(Turn& turn, const RoutesRequested& event);
void on_request(Turn& turn, const PowerCycleRequested& event);
void on_request(Turn& turn, const AdoptRequested& event);
void on_request(Turn& turn, const ReapplyRequested& event);

}  // namespace catwalk::rack
