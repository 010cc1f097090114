// SPDX-License-Identifier: Apache-2.0
#pragma once
// Temperatures, lengths, and radiated powers. No implicit way in or out of any of them.

#include <compare>

#include "daemon/rf/decibel.hpp"

namespace catwalk::rf {

// An absolute temperature.
class Kelvin {
 public:
  constexpr Kelvin() = default;
  static constexpr Kelvin of(double kelvin) { return Kelvin{kelvin}; }
  static constexpr Kelvin celsius(double celsius) { return Kelvin{celsius + 273.15}; }
  constexpr double value() const { return kelvin_; }
  friend constexpr auto operator<=>(const Kelvin&, const Kelvin&) = default;

 private:
  explicit constexpr Kelvin(double kelvin) : kelvin_{kelvin} {}
  double kelvin_ = 0.0;
};

class Metres {
 public:
  constexpr Metres() = default;
  static constexpr Metres of(double metres) { return Metres{metres}; }
  constexpr double value() const { return metres_; }
  friend constexpr Metres operator+(Metres a, Metres b) { return Metres{a.metres_ + b.metres_}; }
  friend constexpr auto operator<=>(const Metres&, const Metres&) = default;

 private:
  explicit constexpr Metres(double metres) : metres_{metres} {}
  double metres_ = 0.0;
};

// Speed of light in vacuum, m/s; exact since the SI of 1983.
inline constexpr double speed_of_light = 299'792'458.0;

// Precondition: frequency > 0.
constexpr Metres wavelength(Frequency frequency) {
  return Metres::of(speed_of_light / static_cast<double>(frequency.hertz()));
}

// Gain of a half-wave dipole over an isotropic radiator, as regulations round it. Theory gives
// 1.6409 = 2.151 dB. Source: ITU Radio Regulations, Nos. 1.161 and 1.162, define both powers (from
// memory); the figure is theory, recomputed.
inline constexpr Decibel dipole_gain = Decibel::of(2.15);

// Effective radiated power: relative to a half-wave dipole. What most European rules below 1 GHz
// mean.
class Erp {
 public:
  static constexpr Erp of(PowerLevel level) { return Erp{level}; }
  constexpr PowerLevel level() const { return level_; }
  friend constexpr auto operator<=>(const Erp&, const Erp&) = default;

 private:
  explicit constexpr Erp(PowerLevel level) : level_{level} {}
  PowerLevel level_;
};

// Equivalent isotropically radiated power: relative to an isotropic radiator. 2.15 dB more than the
// e.r.p. of the same transmitter.
class Eirp {
 public:
  static constexpr Eirp of(PowerLevel level) { return Eirp{level}; }
  static constexpr Eirp of(Erp erp) { return Eirp{erp.level() + dipole_gain}; }
  constexpr PowerLevel level() const { return level_; }
  constexpr Erp as_erp() const { return Erp::of(level_ - dipole_gain); }
  friend constexpr auto operator<=>(const Eirp&, const Eirp&) = default;

 private:
  explicit constexpr Eirp(PowerLevel level) : level_{level} {}
  PowerLevel level_;
};

}  // namespace catwalk::rf
