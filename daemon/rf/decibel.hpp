// SPDX-License-Identifier: Apache-2.0
#pragma once
// A ratio of powers in decibels, and what it may be combined with. A level plus a ratio is a level,
// the difference of two levels is a ratio; two levels cannot be added, only their powers can.
//
// Decibel is for computing; Gain (units.hpp) is a setting, exact to 0.01 dB.
// Source of the definitions: IEC 60027-3 (from memory): 10·lg of a power ratio; dBm refers to 1 mW.

#include <cmath>
#include <compare>
#include <initializer_list>
#include <limits>
#include <span>

#include "daemon/rf/units.hpp"

namespace catwalk::rf {

class Decibel {
 public:
  constexpr Decibel() = default;
  static constexpr Decibel of(double decibels) { return Decibel{decibels}; }
  static constexpr Decibel of(Gain gain) { return Decibel{gain.decibels()}; }
  // The power ratio must be ≥ 0; 0 gives −∞ dB.
  static Decibel from_ratio(double ratio) { return Decibel{10.0 * std::log10(ratio)}; }

  constexpr double value() const { return decibels_; }
  double ratio() const { return std::pow(10.0, decibels_ / 10.0); }

  constexpr Decibel operator-() const { return Decibel{-decibels_}; }
  friend constexpr Decibel operator+(Decibel a, Decibel b) {
    return Decibel{a.decibels_ + b.decibels_};
  }
  friend constexpr Decibel operator-(Decibel a, Decibel b) {
    return Decibel{a.decibels_ - b.decibels_};
  }
  friend constexpr Decibel operator*(double n, Decibel a) { return Decibel{n * a.decibels_}; }
  friend constexpr auto operator<=>(const Decibel&, const Decibel&) = default;

 private:
  explicit constexpr Decibel(double decibels) : decibels_{decibels} {}
  double decibels_ = 0.0;
};

constexpr PowerLevel operator+(PowerLevel level, Decibel by) {
  return PowerLevel::dbm(level.dbm() + by.value());
}
constexpr PowerLevel operator-(PowerLevel level, Decibel by) {
  return PowerLevel::dbm(level.dbm() - by.value());
}
constexpr Decibel operator-(PowerLevel a, PowerLevel b) { return Decibel::of(a.dbm() - b.dbm()); }

// No power at all: −∞ dBm. Adds nothing to a sum and stays what it is through any gain.
constexpr PowerLevel no_power() {
  return PowerLevel::dbm(-std::numeric_limits<double>::infinity());
}
// What an element without this limit has: an intercept or a compression point at +∞ dBm.
constexpr PowerLevel no_limit() { return PowerLevel::dbm(std::numeric_limits<double>::infinity()); }

inline double milliwatts(PowerLevel level) { return std::pow(10.0, level.dbm() / 10.0); }
// `value` ≥ 0 mW; 0 gives no_power().
inline PowerLevel from_milliwatts(double value) {
  return PowerLevel::dbm(10.0 * std::log10(value));
}

// The level of all these together, as powers of signals that know nothing of each other add: in
// milliwatts. No levels: no_power().
inline PowerLevel power_sum(std::span<const PowerLevel> levels) {
  double sum = 0.0;
  for (const auto level : levels) sum += milliwatts(level);
  return from_milliwatts(sum);
}
inline PowerLevel power_sum(std::initializer_list<PowerLevel> levels) {
  return power_sum(std::span{levels.begin(), levels.size()});
}

}  // namespace catwalk::rf
