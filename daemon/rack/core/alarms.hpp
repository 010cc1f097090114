// SPDX-License-Identifier: Apache-2.0
#pragma once
// Alarms: raised, returned, acknowledged, shelved. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void raise_alarm(Turn& turn, AlarmKind kind, const std::string& subject, std::string sentence);
// The condition is over; nothing happens if there is no such active alarm.
void return_alarm(Turn& turn, AlarmKind kind, const std::string& subject);
// The condition lasts, acknowledged or not.
bool is_raised(const State& state, AlarmKind kind, const std::string& subject);
// What keeps that it is over, for a record that ends the condition; nothing: there is no such
// alarm.
std::optional<Write> end_of_alarm(const Turn& turn, AlarmKind kind, const std::string& subject);
// Shelvings whose time is over end; those that are left go with the wall clock when it is put.
void end_shelvings(Turn& turn);
void shelvings_move_with_clock(Turn& turn, std::chrono::microseconds by);
std::optional<TimePoint> next_end_of_shelving(const State& state);
// Which active alarm each follows from: of a node that is silent the line, of one that shows
// something else the supply that it lost, or the controller that has it.
void find_causes(State& state);
// Of the alarm that another controller has this node: the whole rack, its line, or itself.
std::string subject_of_other(const State& state, const NodeState& node);
void on_request(Turn& turn, const AcknowledgeRequested& event);
void on_request(Turn& turn, const AcknowledgeManyRequested& event);
void on_request(Turn& turn, const ShelveRequested& event);
void on_request(Turn& turn, const UnshelveRequested& event);

}  // namespace catwalk::rack
