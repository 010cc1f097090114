// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who stands where a receiver hears beside its channels: at its image, at half its intermediate
// frequency, and wherever its maker lists a spurious response.

#include <span>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/levels/carrier_levels.hpp"

namespace catwalk::rack {

// How much of a carrier's band lies in a channel, of all of it. Precondition: they overlap.
double overlapping_share(const rf::Band& band, const rf::Band& channel);

// A carrier, or a share of it, at a response of a receiver beside a channel that it must hear.
struct Stray {
  std::size_t in = 0;  // whose channel: of all carriers
  std::size_t who = 0;
  double share = 0.0;  // above 0, at most 1; what the receiver rejects is taken off it
  const plan::SpuriousResponse* by = nullptr;  // never null; lives as long as the plan
};

// Of these carriers, in the order of `served`: those that the receiver must hear.
std::vector<Stray> strays_of(const plan::ReceiverInput& input,
                             const std::vector<CarrierAtAntenna>& carriers,
                             std::span<const std::size_t> served);

}  // namespace catwalk::rack
