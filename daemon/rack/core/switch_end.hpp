// SPDX-License-Identifier: Apache-2.0
#pragma once
// How a switch ends, and where its nodes are. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void end_switch(Turn& turn, SwitchStage end, std::string reason);
// Looks at what was put off while a switch was under way: drifts, verdicts on what is in force.
void catch_up(Turn& turn);
// "left has the settings of finale; spare does not answer."
std::string who_is_where(const Switch& running, const State& state);
Whereabouts whereabouts(const State& state, const NodeState& node, const SwitchNode& member);
// Of the switch under way, or of another.
SwitchViewPtr view_of_switch(State& state);
SwitchViewPtr view_of_switch(State& state, Switch& running);
// Of one that has ended; its reason is why it ended so, and is completed by where its nodes are.
SwitchViewPtr view_of_ended(State& state, Switch& ended);

}  // namespace catwalk::rack
