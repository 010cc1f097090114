// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where a number becomes a finding. Each default with its reason; a rack file may say otherwise.

#include <algorithm>
#include <optional>

#include "daemon/rf/fading.hpp"

namespace catwalk::plan {

struct Limits {
  // A caution when all carriers together come closer than this to an amplifier's 1 dB compression
  // point; past the point itself it is refused. 6 dB: two walkers meeting at one antenna double
  // the field of either (common practice, no source).
  rf::Decibel compression_margin = rf::Decibel::of(6.0);  // 0 to 40 dB

  // A caution when intermodulation in a channel comes nearer to the noise floor than this; negative
  // is below it. −6 dB costs 1 dB of sensitivity: 10·lg(1 + 10^−0.6). The criterion I/N = −6 dB is
  // that of ITU-R studies of shared bands (from memory).
  rf::Decibel intermodulation_over_noise = rf::Decibel::of(-6.0);  // −40 to 60 dB

  // From the antenna's terminals to the receiver's input: losses made up, and no more. DESIGN of
  // this project; common practice, no source.
  rf::Decibel lowest_chain_gain = rf::Decibel::of(0.0);   // −60 to 60 dB
  rf::Decibel highest_chain_gain = rf::Decibel::of(6.0);  // not below the lowest

  // A caution when the strongest carrier comes closer than this to what the receiver's maker calls
  // overload. 3 dB: the tolerance of the figures that go into a level (common practice, no source).
  rf::Decibel overload_margin = rf::Decibel::of(3.0);  // 0 to 40 dB

  // A caution when the weakest expected carrier has less than this over what the receiver needs.
  // 10 dB: a body between transmitter and antenna, and fading that diversity does not take away
  // (common practice, no source).
  rf::Decibel link_margin = rf::Decibel::of(10.0);  // 0 to 60 dB

  // The share of the time in which the weakest is to be heard in spite of Rayleigh fading
  // (rf/fading.hpp); absent: not asked. What it takes is less at a receiver with two antennas.
  std::optional<double> link_availability = {};  // 0.5 to 0.99999

  // What is wanted at a receiver with so many antennas: the stricter of these two.
  rf::Decibel link_margin_at(int antennas) const {
    return link_availability
               ? std::max(link_margin, rf::plain::fading_margin(*link_availability, antennas))
               : link_margin;
  }

  friend bool operator==(const Limits&, const Limits&) = default;
};

}  // namespace catwalk::plan
