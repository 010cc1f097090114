// SPDX-License-Identifier: Apache-2.0
#pragma once
// co-channel, adjacent-carrier, carrier-outside-lane: what the carriers of a segment are to each
// other and to its lanes, whatever its nodes are set to.
//
//  co-channel            the occupied bands of two carriers overlap
//  adjacent-carrier      they do not, and stand nearer to each other than the first offset for
//                        which a receiver's maker gives a rejection (ReceiverInput::blocking)
//  carrier-outside-lane  not wholly in lanes of its own purpose; said of none where a segment has
//                        no lanes at all
//
// All are cautions, for a person can know what no file says: who speaks when, and what stands
// between. A carrier is let stand beside another (a note for co-channel, nothing for the other)
// where every antenna that hears it has it, at its weakest, above the other at its strongest, by
// the protection ratio of each receiver that has to hear it. Two transmitters on one channel are
// never let stand: where their listeners are is not known.

#include <span>
#include <string>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// All carriers of the segment. The findings name no node.
std::vector<Finding> check_carriers(const plan::RackPlan& plan, const plan::Segment& segment);

// One against all others of the segment (by name), and against the lanes; it may stand elsewhere
// than the segment has it.
std::vector<Finding> check_carrier(const plan::RackPlan& plan, const plan::Segment& segment,
                                   const plan::Carrier& carrier);

// What meets on the way alone: carriers of the segment that is left that stay on late, and those of
// the entered one that are on early. One that moves is a single radio and never meets itself.
std::vector<Finding> check_meeting(const plan::RackPlan& plan, const plan::Segment& left,
                                   const plan::Segment& entered);

// A segment by itself: its carriers, what measured isolations leave out of them
// (isolation_rules.hpp), and what is published of its spectrum (band_rules.hpp).
Verdict check_segment(const plan::RackPlan& plan, const plan::Segment& segment);

}  // namespace catwalk::rack
