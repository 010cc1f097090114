// SPDX-License-Identifier: Apache-2.0
#pragma once
// Ticks on crew sheets. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// A show has some dozen changes, and a change some dozen rows.
constexpr std::size_t most_ticks = 4'096;
void on_request(Turn& turn, const TickRequested& event);
// The rack has gone from one segment to another. That sheet stays, for what is to be done when the
// nodes are there; the others that led here, to where we were, or from there are begun anew.
std::vector<Write> begin_sheets_anew(State& state, const plan::SegmentName& left,
                                     const plan::SegmentName& entered);
// Another plan: rows that are gone, or say something else now, are ticked no longer.
std::vector<Write> drop_untrue_ticks(State& state);
std::vector<Write> drop_all_ticks(State& state);
// What stands open for the armed cue, if there is one.
void look_at_crew(State& state);

}  // namespace catwalk::rack
