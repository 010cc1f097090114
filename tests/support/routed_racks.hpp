// SPDX-License-Identifier: Apache-2.0
#pragma once
// Racks behind one or two matrices between two segments, for the planner of the way: random ones
// that are hard on it. Invented; the same for the same numbers.

#include "tests/support/way_racks.hpp"

namespace catwalk::test {

// At most `most` movers, one or two of them matrices: antennas on their inputs, some of which take
// a supply, and some that end at a branch; outputs that take one input or sums, with amplifiers
// behind them; trims, supplies and routes of before and after at random.
Crossing routed_crossing(int most, unsigned seed);

}  // namespace catwalk::test
