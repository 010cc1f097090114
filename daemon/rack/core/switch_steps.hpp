// SPDX-License-Identifier: Apache-2.0
#pragma once
// The steps of a way, one after the other. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

void begin_step(Turn& turn);
void step_recorded(Turn& turn, ChangeId ticket, const std::string* trouble);
// `node`: everyone() for a broadcast on `line`. `reply` null: it failed with `fault`.
void step_command_ended(Turn& turn, const plan::LineName& line, protocol::NodeUid node,
                        ChangeId ticket, const protocol::Reply* reply, protocol::Fault fault);

}  // namespace catwalk::rack
