// SPDX-License-Identifier: Apache-2.0
#pragma once
// What lands in a receive channel beside its own noise, and what that costs.
// All levels at the same point of the chain, for example the receiver's input, in the channel's
// bandwidth.

#include <cmath>

#include "daemon/rf/decibel.hpp"

namespace catwalk::rf {

// By how much the noise floor rises: 10·lg(1 + I/N), ≥ 0 dB. Interference as strong as the noise
// costs 3.01 dB. Source: powers of independent signals add; the ratio is the definition.
// Precondition: the noise is not no_power().
inline Decibel desensitisation(PowerLevel interference, PowerLevel noise) {
  // log1p keeps the digits of a small rise.
  return Decibel::of(10.0 / std::log(10.0) * std::log1p((interference - noise).ratio()));
}

// A transmitter's wide-band noise in a channel of `bandwidth` (> 0 Hz): its carrier level at this
// point plus a density in dBc/Hz (negative) times the bandwidth. The density is the transmitter's
// at the offset of the channel, and the path to here is taken to be the same as the carrier's.
inline PowerLevel wideband_noise(PowerLevel carrier, Decibel density_per_hertz,
                                 Frequency bandwidth) {
  return carrier + density_per_hertz + Decibel::from_ratio(static_cast<double>(bandwidth.hertz()));
}

// What a strong carrier beside the channel does to a receiver, as an interferer of equal effect in
// the channel: `blocker` less the receiver's rejection at that offset (≥ 0 dB), which is more than
// the blocking ratio of a data sheet (plan::BlockingPoint has the formula).
// Covers reciprocal mixing and finite selectivity alike; common practice, no source.
inline PowerLevel blocking_equivalent(PowerLevel blocker, Decibel rejection) {
  return blocker - rejection;
}

}  // namespace catwalk::rf
