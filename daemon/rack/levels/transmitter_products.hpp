// SPDX-License-Identifier: Apache-2.0
#pragma once
// Intermodulation that transmitters make which stand together: one takes in what arrives from
// another at its antenna, its output stage mixes that with twice its own carrier, and radiates
// 2·own − other, as strong as what arrived less a conversion loss. No filter behind an antenna
// keeps it out of a channel that it falls into.
//
//   e.r.p. of the product = other's e.r.p. + 2·2.15 dB − loss between both − conversion loss
//
// over free space between dipoles, or of an isolation between both that was measured. Source of the
// form and of a range of 5 to 20 dB for the conversion loss of transmitters without an isolator:
// Report ITU-R SM.2021 (from memory); 10 dB where nobody says. Counted from carriers whose e.r.p.
// is known, with a place each or an isolation between them. Not counted: 2·other − own, which is
// weaker by what the other arrives below the own, and products of three.

#include <cstddef>
#include <vector>

#include "daemon/rack/levels/carrier_levels.hpp"

namespace catwalk::rack {

inline constexpr rf::Decibel usual_conversion_loss = rf::Decibel::of(10.0);

// 2·own − other in the channel of a carrier that must be heard. All by their places in a node's
// carriers.
struct TransmitterProduct {
  std::size_t in = 0;  // whose channel
  std::size_t own = 0;
  std::size_t other = 0;
  rf::Frequency at = {};      // its centre
  rf::Decibel over_own = {};  // its radiated power over that of the own carrier, as a rule < 0
  double share = 0.0;         // of its power that lies in the channel; above 0, at most 1
};

// Whether anything is known of what it may do to others: an e.r.p., a place or an isolation.
bool may_mix(const plan::Carrier& carrier);

// In the order of the channels.
std::vector<TransmitterProduct> transmitter_products(const std::vector<CarrierAtAntenna>& carriers);

}  // namespace catwalk::rack
