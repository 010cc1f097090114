// SPDX-License-Identifier: Apache-2.0
#pragma once
// What there is to see of the running order. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// Null: there is none.
const plan::Cue* next_cue(const State& state);
// Why no cue triggers itself, whatever its time; empty: they do.
std::string not_by_itself(const State& state);
OrderView order_of(const State& state);

}  // namespace catwalk::rack
