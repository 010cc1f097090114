// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/fading.hpp"

#include <cmath>
#include <optional>

namespace catwalk::rf {
namespace {

std::optional<OutOfRange> check_antennas(int antennas) {
  return check_range("antennas", antennas, 1, 8, "");
}

}  // namespace

Decibel plain::fading_margin(double availability, int antennas) {
  const double of_one = std::pow(1.0 - availability, 1.0 / antennas);
  // log1p and expm1 keep the digits of a short outage.
  return -Decibel::from_ratio(-std::log1p(-of_one));
}

double plain::availability(Decibel margin, int antennas) {
  const double of_one = -std::expm1(-(-margin).ratio());
  return 1.0 - std::pow(of_one, antennas);
}

Checked<Decibel> fading_margin(double availability, int antennas) {
  if (auto fault = check_range("availability", availability, 0.5, 0.99999, ""))
    return Failure{*fault};
  if (auto fault = check_antennas(antennas)) return Failure{*fault};
  return plain::fading_margin(availability, antennas);
}

Checked<double> availability(Decibel margin, int antennas) {
  if (auto fault = check_antennas(antennas)) return Failure{*fault};
  if (auto fault = check_range("margin", margin.value(), -30, 100, "dB")) return Failure{*fault};
  return plain::availability(margin, antennas);
}

}  // namespace catwalk::rf
