// SPDX-License-Identifier: Apache-2.0
#pragma once
// Racks of any size with everything known: chains, receivers, distances. Invented, the same for the
// same numbers.

#include "daemon/plan/rack_plan.hpp"

namespace catwalk::test {

// The sliding amplifier of the figures: −12 to +27 dB in steps of 1 dB, a window of 40 MHz that
// slides from 410 to 760 MHz in steps of 1 MHz; Chebyshev, four resonators.
std::shared_ptr<const plan::Datasheet> sliding_sheet();

// `nodes` (even) in pairs: each pair is the two branches of one receiver, behind 40 m of cable and
// a four-way splitter. One segment, "all", with `carriers` on a raster of 25 kHz from 470 to
// 700 MHz, one in eight an own transmitter. Each receiver has the carriers of a stretch of its own,
// so that a window of 40 MHz holds them.
plan::RackPlan physics_rack(int nodes, int carriers, unsigned seed);

// A theatre: 14 antennas whose filters tune in steps of `step`, four receivers, of which one hears
// by two combiners of four antennas with an amplifier behind them; 40 microphones and 8 in-ears
// near the antennas. Nothing is clean behind the combiners: the carriers of all antennas meet
// there.
plan::RackPlan theatre_rack(rf::Frequency step);

}  // namespace catwalk::test
