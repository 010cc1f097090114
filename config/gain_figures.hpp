// SPDX-License-Identifier: Apache-2.0
#pragma once
// What an amplifier does at gains below its highest: tables of figures, or the stages that it is
// made of and where its pad stands, from which the figures follow (rf/cascade.hpp).

#include "config/reader.hpp"
#include "daemon/plan/datasheet.hpp"

namespace catwalk::config {

// Reads "noise_figures", "linearity" and "amplifier" of a datasheet, and holds them against the
// gains and the figures at the highest of them that `sheet` has: no step, or NaN, where that is not
// known.
void read_gain_figures(const Object& datasheet, plan::Datasheet& sheet);

}  // namespace catwalk::config
