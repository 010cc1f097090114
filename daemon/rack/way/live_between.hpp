// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is on the air while the rack is between two segments.
//
// A carrier with the same name, use and frequency in both segments is one, and live in both. One
// that moves its frequency is two: the old and the new. What only the segment that is left has goes
// off before the first node moves, and what only the other has comes on when the last has moved,
// unless the segment says `late` or `early`.

#include <optional>
#include <vector>

#include "daemon/plan/rack_plan.hpp"

namespace catwalk::rack {

struct LiveCarrier {
  const plan::Carrier* left = nullptr;     // as the segment that is left has it; null: it has not
  const plan::Carrier* entered = nullptr;  // as the segment that is entered has it; one is not null

  // Live before and after the switch, and so to be heard all the time.
  bool stays() const { return left != nullptr && entered != nullptr; }
  const plan::Carrier& any() const { return left != nullptr ? *left : *entered; }
  // Its band where the two differ: the wider of them.
  rf::Band band() const;
  // Who must hear it without a gap: those who must in both segments.
  std::vector<plan::ReceiverName> receivers() const;
};

// Pointers into the segments: these have to live as long. In the order of the left segment, then of
// the entered one.
std::vector<LiveCarrier> live_between(const plan::Segment& left, const plan::Segment& entered);

// The same as a segment, for the rules and the physics of one node. Where the two segments describe
// a carrier differently, as the louder of the two at this node. Lanes: those that both have.
plan::Segment segment_between(const plan::RackPlan& plan, const plan::Segment& left,
                              const plan::Segment& entered, const std::vector<LiveCarrier>& live,
                              const plan::Node& node);

}  // namespace catwalk::rack
