// SPDX-License-Identifier: Apache-2.0
#pragma once
// What nodes and lines say, and what the rack makes of it. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// Nothing: the answer is no reading, or one of another kind of node than the plan has there.
std::optional<protocol::AnyReading> reading_of_its_kind(const State& state, const NodeState& node,
                                                        const protocol::Answer& answer);
// Precondition: it is of the node's kind.
void take_reading(Turn& turn, NodeState& node, const protocol::AnyReading& reading);
// What follows from the node's present reading: agreed, drifted, to be re-applied.
void hold_to_wanted(Turn& turn, NodeState& node, bool returned);
void on_field_event(Turn& turn, const NodeReported& event);
void on_field_event(Turn& turn, const NodeIdentified& event);
void on_field_event(Turn& turn, const NodeBabbles& event);
void on_field_event(Turn& turn, const NodeFellSilent& event);
void on_field_event(Turn& turn, const LineWentUp& event);
void on_field_event(Turn& turn, const LineWentDown& event);
void on_field_event(Turn& turn, const NodeDiscovered& event);
void on_field_event(Turn& turn, const DiscoveryEnded& event);
// The rack file is another: which of those that were found stand in it?
void name_discovered(State& state);

}  // namespace catwalk::rack
