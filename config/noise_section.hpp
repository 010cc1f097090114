// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "man_made_noise" of a rack file: what the antennas hear beside kT0.

#include <optional>

#include "config/reader.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::config {

// Nothing if nothing is said, or it is wrong.
std::optional<plan::ManMadeNoise> read_man_made_noise(const Cursor& at);

}  // namespace catwalk::config
