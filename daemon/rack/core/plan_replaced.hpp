// SPDX-License-Identifier: Apache-2.0
#pragma once
// The files were read anew. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// Same nodes keep what is known of them; the plan around them is new.
void replace_plan(Turn& turn, const PlanReplaced& event);

}  // namespace catwalk::rack
