// SPDX-License-Identifier: Apache-2.0
#pragma once
// How strong each carrier of a segment is where it meets the antenna of one node.

#include <optional>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rf/path.hpp"

namespace catwalk::rack {

struct CarrierAtAntenna {
  const plan::Carrier* carrier = nullptr;  // lives as long as the segment
  bool served = false;                     // some receiver on this node must hear it
  // At the antenna's terminals. Absent: neither a distance nor an isolation is known, or no e.r.p.
  std::optional<rf::PowerLevel> strongest = {};
  std::optional<rf::PowerLevel> weakest = {};  // of receive carriers
  rf::Reception::From strongest_from = {};     // what the strongest was taken from
};

// Every carrier of the segment, in its order. What the plan's propagation loses (rf/path.hpp) from
// the nearest and from the farthest distance; a place counts for both; a measured isolation wins
// over either.
std::vector<CarrierAtAntenna> carriers_at(const plan::RackPlan& plan, const plan::Segment& segment,
                                          const plan::Node& node);

// The plan's propagation, with the heights of these two.
rf::Propagation propagation_between(const plan::RackPlan& plan, const plan::Carrier& carrier,
                                    const plan::Node& node);

// mW/Hz that the transmitters among them bring beside their carriers, the same at all frequencies.
double noise_density_of(const std::vector<CarrierAtAntenna>& carriers);

}  // namespace catwalk::rack
