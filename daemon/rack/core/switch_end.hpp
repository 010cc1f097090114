// SPDX-License-Identifier: Apache-2.0
#pragma once
// How a switch ends, and how it is taken up after a restart. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void end_switch(Turn& turn, SwitchStage end, std::string reason);
// Looks at what was put off while a switch was under way: drifts, verdicts on what is in force.
void catch_up(Turn& turn);
// After a restart: goes on as the running order says once every node was read or is known to be
// silent.
void take_up_switch(Turn& turn, const UnfinishedSwitch& unfinished);
void resume_if_read(Turn& turn);
Whereabouts whereabouts(const State& state, const NodeState& node, const SwitchNode& member);
SwitchViewPtr view_of_switch(State& state);

}  // namespace catwalk::rack
