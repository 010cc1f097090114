// SPDX-License-Identifier: Apache-2.0
#pragma once
// Planning, and looking whether the rack is as planned. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void plan_on(Turn& turn);
void way_planned(Turn& turn, const WayPlanned& event);
// What is known of each node of the rack.
NodeNow now_of(const NodeState& node);
std::vector<NodeNow> rack_now(const State& state);
// Is everything as the way takes it to be before its next step? Labels aside.
bool as_planned(const State& state, const Switch& running);
// No step is left: the end, or one more way if somebody has meddled.
void way_walked(Turn& turn);
// Rolls it back, as soon as what nodes were asked has been answered. On the way back: nothing.
void turn_back(Turn& turn, std::string reason);
// The same at once. Precondition: no node was asked anything that is not answered.
void go_back(Turn& turn);

}  // namespace catwalk::rack
