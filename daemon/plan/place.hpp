// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where something is, in metres from any point of the venue that all places count from.

#include <cmath>

#include "daemon/rf/quantities.hpp"

namespace catwalk::plan {

struct Place {
  double x = 0.0;  // each −10 000 to 10 000 m
  double y = 0.0;
  double z = 0.0;
  friend bool operator==(const Place&, const Place&) = default;
};

inline rf::Metres distance(const Place& a, const Place& b) {
  return rf::Metres::of(std::hypot(a.x - b.x, a.y - b.y, a.z - b.z));
}

}  // namespace catwalk::plan
