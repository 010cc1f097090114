// SPDX-License-Identifier: Apache-2.0
#pragma once
// Before the first node moves. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// Begins it, or lets it wait, or refuses it, as the running order says. Answered in any case; an
// alarm tells of one that nobody waits for and that was refused.
void ask_for_switch(Turn& turn, Wish wish);
// Begins the next that waits, if nothing is under way.
void begin_waiting(Turn& turn);
// What would be asked of the planner for this segment, for all nodes that it has settings for and
// that are not left out.
WayQuestion question_ahead(const State& state, const plan::SegmentName& segment,
                           const std::vector<plan::NodeName>& without);
// The first way is planned: refuses it, or records the intent to go it.
void judge_first_way(Turn& turn);
// Takes back a switch whose intent is not on its way to the disk, as if it had never been.
Wish drop_switch(Turn& turn);
// What is to be kept when one is taken back whose intent may have come to the disk: nothing but the
// older one that is stuck, if there is one.
std::vector<Write> writes_without_new(const State& state);
void refuse_wish(Turn& turn, const Wish& wish, Outcome outcome, std::string detail,
                 Verdict verdict = {});

}  // namespace catwalk::rack
