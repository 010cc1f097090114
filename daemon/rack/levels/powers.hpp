// SPDX-License-Identifier: Apache-2.0
#pragma once
// Powers that may not be known.

#include <optional>

#include "daemon/rf/units.hpp"

namespace catwalk::rack {

// mW behind this gain; 0 of a level that is not known.
inline double power_of(const std::optional<rf::PowerLevel>& level, rf::Decibel gain) {
  return level ? rf::milliwatts(*level + gain) : 0.0;
}

}  // namespace catwalk::rack
