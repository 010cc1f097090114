// SPDX-License-Identifier: Apache-2.0
#pragma once
// The four figures that describe an amplifier, be it one in a chain or a stage within a node.

#include <optional>

#include "config/reader.hpp"
#include "daemon/rf/cascade.hpp"

namespace catwalk::config {

// Reports an output intercept that is not above the output P1dB, dBm; then false.
bool check_above_compression(const Object& object, double p1db, double ip3);

// "gain_db" −30 to 60, "noise_figure_db" 0 to 40, "output_p1db_dbm" −40 to 60 and "output_ip3_dbm"
// −30 to 80, held against each other. Nothing: one of them is missing or wrong, which is reported.
std::optional<rf::Stage> read_amplifier_figures(const Object& object);

}  // namespace catwalk::config
