// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/noise.hpp"

namespace catwalk::rf {

PowerLevel thermal_noise(Kelvin temperature, Frequency bandwidth) {
  constexpr double milliwatts_per_watt = 1e3;
  return from_milliwatts(boltzmann * temperature.value() * static_cast<double>(bandwidth.hertz()) *
                         milliwatts_per_watt);
}

Kelvin noise_temperature(Decibel noise_figure) {
  return Kelvin::of(reference_temperature.value() * (noise_figure.ratio() - 1.0));
}

Decibel noise_figure(Kelvin effective_temperature) {
  return Decibel::from_ratio(1.0 + effective_temperature.value() / reference_temperature.value());
}

Decibel passive_noise_figure(Decibel loss, Kelvin physical) {
  return noise_figure(Kelvin::of((loss.ratio() - 1.0) * physical.value()));
}

}  // namespace catwalk::rf
