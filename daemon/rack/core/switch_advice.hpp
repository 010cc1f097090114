// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a switch that has ended leaves to be done about its nodes, as things are now. Internal to
// the room, like state.hpp.

#include <string>

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// Empty: nothing is to be done about this node.
std::string what_to_do(const State& state, const Switch& running, const SwitchNode& member,
                       Whereabouts where);
// It has ended, and somebody has to see to nodes of it.
bool leaves_something(const Switch& running);
// Its segments and its nodes are in the files.
bool is_in_files(const State& state, const Switch& running);
// State::unsettled is shown. After a restart it is not, until it is known where its nodes are.
bool is_told(const State& state);
// As long as it is told: where its nodes are and what to do follow what they show, the show lock
// and what is armed. Before they are marked as shown.
void renew_advice(State& state);
// What it left is there no more, or is taken as it is: nothing is to be done about it.
void drop_advice(State& state);

}  // namespace catwalk::rack
