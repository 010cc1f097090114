// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/position.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace catwalk::plan {

double kilometres_between(const Position& a, const Position& b) {
  constexpr double mean_radius = 6371.0088;  // km
  constexpr double degree = std::numbers::pi / 180.0;
  const auto haversine = [](double degrees) {
    const double half = std::sin(degrees * degree / 2.0);
    return half * half;
  };
  const double of_arc = haversine(b.latitude - a.latitude) +
                        std::cos(a.latitude * degree) * std::cos(b.latitude * degree) *
                            haversine(b.longitude - a.longitude);
  return 2.0 * mean_radius * std::asin(std::sqrt(std::min(1.0, of_arc)));
}

}  // namespace catwalk::plan
