// SPDX-License-Identifier: Apache-2.0
#pragma once
// Thermal noise, and the two ways to say how much an element adds.
//
// Sources: Boltzmann's constant k = 1.380649e-23 J/K, exact since the 2019 SI (CODATA 2018);
// T0 = 290 K and Te = T0·(F − 1): Federal Standard 1037C, "effective input noise temperature".
// kT0 is −173.9752 dBm/Hz; the usual −174 is rounded.

#include "daemon/rf/quantities.hpp"

namespace catwalk::rf {

inline constexpr double boltzmann = 1.380'649e-23;                  // J/K
inline constexpr Kelvin reference_temperature = Kelvin::of(290.0);  // T0

// kTB. Preconditions: temperature ≥ 0, bandwidth > 0.
PowerLevel thermal_noise(Kelvin temperature, Frequency bandwidth);
inline PowerLevel thermal_noise(Frequency bandwidth) {
  return thermal_noise(reference_temperature, bandwidth);
}

// Effective input noise temperature of an element with this noise figure (≥ 0 dB), and back.
Kelvin noise_temperature(Decibel noise_figure);
Decibel noise_figure(Kelvin effective_temperature);

// Noise figure of a matched passive element with this loss (≥ 0 dB) that is as warm as
// `physical`: Te = (L − 1)·T, so at T0 the noise figure is the loss.
Decibel passive_noise_figure(Decibel loss, Kelvin physical = reference_temperature);

}  // namespace catwalk::rf
