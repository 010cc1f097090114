// SPDX-License-Identifier: Apache-2.0
#pragma once
// How a switch is taken up after a restart. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// One that was stopped goes on as the running order says once every node was read or is known to be
// silent. One that is stuck moves nothing: where its nodes are is told, with what to do about each.
void take_up_switch(Turn& turn, const UnfinishedSwitch& unfinished);
void resume_if_read(Turn& turn);
// One that was stuck before: where its nodes are, and what to do about each, once all of them were
// read or are known to be silent, or are another controller's.
void tell_stuck(Turn& turn);

}  // namespace catwalk::rack
