// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/external_noise.hpp"

#include <algorithm>
#include <cmath>

namespace catwalk::rf {
namespace {

struct Curve {
  double c = 0.0;  // Fam = c − d·lg(f/MHz)
  double d = 0.0;
  double at(Frequency frequency) const { return c - d * std::log10(frequency.megahertz()); }
};

// In the order of NoisePlace.
constexpr Curve curves[]{{76.8, 27.7}, {72.5, 27.7}, {67.2, 27.7}, {53.6, 28.6}};
constexpr Curve city_above{44.3, 12.3};  // from where it crosses the city's first

}  // namespace

Decibel plain::man_made_noise(NoisePlace place, Frequency frequency) {
  const double first = curves[static_cast<std::size_t>(place)].at(frequency);
  if (place != NoisePlace::city) return Decibel::of(first);
  // The first is above below the crossing at 128.9 MHz, and below above it.
  return Decibel::of(std::max(first, city_above.at(frequency)));
}

Checked<Decibel> man_made_noise(NoisePlace place, Frequency frequency) {
  if (auto fault = check_range("frequency", frequency.megahertz(), 0.3, 1e4, "MHz"))
    return Failure{*fault};
  return plain::man_made_noise(place, frequency);
}

Frequency stated_up_to(NoisePlace place) {
  return Frequency::megahertz(place == NoisePlace::city ? 900 : 250);
}

Decibel with_external_noise(Decibel noise_figure, Decibel external) {
  return Decibel::from_ratio(std::max(external.ratio(), 1.0) + noise_figure.ratio() - 1.0);
}

}  // namespace catwalk::rf
