// SPDX-License-Identifier: Apache-2.0
#pragma once
// How much a signal has to stand over what is needed, to be there for a wanted share of the time,
// where it comes by many ways at once and none is stronger than all others: Rayleigh fading.
//
// With the mean power M dB over what is needed one antenna goes short for the share
//   p = 1 − exp(−10^(−M/10))
// of the time, and n antennas of which the best is heard (selection diversity) for pⁿ, if all have
// the same mean and fade independently. Source: the exponential distribution of a Rayleigh
// signal's power, as lecture notes have it (cnx.org m15540); a figure to check: 10 dB, one antenna
// 9.5 %, four 0.008 %. Independent are antennas some wavelengths apart in a room (common practice,
// no source). Of means M1 and M2 that differ their mean in decibels counts, as long as p is small.
// The reference is the mean power; the median lies 1.592 dB below it.

#include "daemon/rf/out_of_range.hpp"
#include "daemon/rf/quantities.hpp"

namespace catwalk::rf {

// M for this availability, the share of the time in which the signal is there.
// Errors: `availability` outside 0.5 to 0.99999; `antennas` outside 1 to 8.
Checked<Decibel> fading_margin(double availability, int antennas);

// The share of the time in which it is there, with this margin; the way back of fading_margin().
// Errors: `antennas` outside 1 to 8; `margin` outside −30 to 100 dB.
Checked<double> availability(Decibel margin, int antennas);

// The formulas alone, for figures that were checked when they came in.
namespace plain {
Decibel fading_margin(double availability, int antennas);
double availability(Decibel margin, int antennas);
}  // namespace plain

}  // namespace catwalk::rf
