// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where a carrier could be moved to, in words.

#include <string>

#include "daemon/plan/segment.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::rack {

inline constexpr auto raster = rf::Frequency::kilohertz(25);       // what carriers are moved on
inline constexpr auto furthest = rf::Frequency::kilohertz(2'000);  // that one is moved by advice

// "Move guest-1 up by at least 0.150 MHz, to 563.000 MHz"
std::string to_move(const plan::Carrier& carrier, rf::Frequency by);
// Into what a filter surely passes, and out of what it may pass, by whole steps of the raster.
std::string into_window(const plan::Carrier& carrier, const rf::Band& surely);
std::string out_of_window(const plan::Carrier& carrier, const rf::Band& perhaps);

}  // namespace catwalk::rack
