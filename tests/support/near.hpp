// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>

namespace catwalk::test {

inline bool near(double value, double expected, double within) {
  return std::abs(value - expected) <= within;
}

}  // namespace catwalk::test
