// SPDX-License-Identifier: Apache-2.0
#pragma once
// Cues: what is next, when it is due, what is armed. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// The cue that a switch to this segment leads to: the armed one, the next one, any other.
std::optional<plan::CueName> cue_for(const State& state, const plan::SegmentName& segment);
// The rack has reached this segment. Null: nowhere in the order.
void reached(Turn& turn, const plan::SegmentName& segment, const std::optional<plan::CueName>& cue);
void place_in_order(State& state, const plan::CueName& cue);
void clock_stepped(Turn& turn, std::chrono::microseconds by);
// Finds out anew when the next cue is due.
void aim(Turn& turn);
void keep_time(Turn& turn);
// Nothing stays armed; `what`: why, as the journal has it.
void disarm_all(Turn& turn, const std::string& who, const std::string& what);
void on_request(Turn& turn, const SwitchRequested& event);
void on_request(Turn& turn, const RestoreRequested& event);
void on_request(Turn& turn, const MessageReceived& event);
void on_request(Turn& turn, const AbortRequested& event);
void on_request(Turn& turn, const ArmRequested& event);
void on_request(Turn& turn, const ArmReloadRequested& event);
void on_request(Turn& turn, const DisarmRequested& event);

}  // namespace catwalk::rack
