// SPDX-License-Identifier: Apache-2.0
#pragma once
// Whether this daemon is the one that controls the nodes. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// After a start. No lines: the nodes are ours.
void begin_asking(State& state, AskFirst ask, TimePoint now);
// To be called at the end of each turn: decides whose the nodes are, once that can be known.
void keep_asking(Turn& turn);
// It is left to the other one that has it; `held` says how that is known.
void watch_node(Turn& turn, const NodeState& node);
// It is ours again, whether a person took it or the other one has gone.
void set_free(Turn& turn, NodeState& node);
// It says that it obeys this epoch, which no controller can have.
void obeys_nobody(Turn& turn, NodeState& node, protocol::Epoch epoch);
// It says that it obeys this epoch, which is higher than ours.
void obeys_other(Turn& turn, NodeState& node, protocol::Epoch epoch);
// It says that it does not.
void obeys_us(Turn& turn, NodeState& node, protocol::Epoch epoch);
// What was begun before another controller came is not gone on with, and tells nothing of what is
// there now: changes, a switch, what was on the air and when, ticks.
void give_up_what_was_begun(Turn& turn);
// Beside what was done and moves no node; empty while the nodes are ours.
std::string counts_only_here(const State& state);
// Why nothing is sent to one that another controller has.
std::string held_words(const NodeState& node);
// True: what was asked for moves nodes, and they are not ours; it was answered.
bool refuse_without_control(Turn& turn, RequestId request);
void on_field_event(Turn& turn, const OtherSpeaks& event);
void on_field_event(Turn& turn, const NodeFree& event);
void on_field_event(Turn& turn, const LineAsked& event);

}  // namespace catwalk::rack
