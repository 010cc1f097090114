// SPDX-License-Identifier: Apache-2.0
#pragma once
// The units that everything else is written in. No implicit way in or out: a gain cannot be added
// to a frequency, nor two absolute powers to each other.

#include <cmath>
#include <compare>
#include <cstdint>
#include <cstdlib>

namespace catwalk::rf {

// A frequency or a bandwidth, exact to 1 Hz. Differences may be negative.
class Frequency {
 public:
  constexpr Frequency() = default;
  static constexpr Frequency hertz(std::int64_t value) { return Frequency{value}; }
  static constexpr Frequency kilohertz(std::int64_t value) { return Frequency{value * 1'000}; }
  // Rounded to the nearest hertz.
  static Frequency megahertz(double value) { return Frequency{std::llround(value * 1e6)}; }

  constexpr std::int64_t hertz() const { return hertz_; }
  constexpr double megahertz() const { return static_cast<double>(hertz_) / 1e6; }

  constexpr Frequency operator-() const { return Frequency{-hertz_}; }
  friend constexpr Frequency operator+(Frequency a, Frequency b) {
    return Frequency{a.hertz_ + b.hertz_};
  }
  friend constexpr Frequency operator-(Frequency a, Frequency b) {
    return Frequency{a.hertz_ - b.hertz_};
  }
  friend constexpr Frequency operator/(Frequency a, std::int64_t n) {
    return Frequency{a.hertz_ / n};
  }
  friend constexpr Frequency operator*(std::int64_t n, Frequency a) {
    return Frequency{n * a.hertz_};
  }
  friend constexpr auto operator<=>(const Frequency&, const Frequency&) = default;

 private:
  explicit constexpr Frequency(std::int64_t value) : hertz_{value} {}
  std::int64_t hertz_ = 0;
};

// A stretch of spectrum, both edges included. `low` ≤ `high`.
struct Band {
  Frequency low;
  Frequency high;

  constexpr Frequency width() const { return high - low; }
  constexpr bool contains(const Band& other) const {
    return low <= other.low && other.high <= high;
  }
  // Bands that only touch at an edge do not overlap.
  constexpr bool overlaps(const Band& other) const { return low < other.high && other.low < high; }
  // Wider by `by` at each edge; narrower if negative.
  constexpr Band widened(Frequency by) const { return {low - by, high + by}; }
  static constexpr Band around(Frequency centre, Frequency width) {
    return {centre - width / 2, centre - width / 2 + width};
  }
  friend constexpr auto operator<=>(const Band&, const Band&) = default;
};

// A gain as it is set: exact, in steps of 0.01 dB.
class Gain {
 public:
  constexpr Gain() = default;
  static constexpr Gain centidecibels(std::int32_t value) { return Gain{value}; }
  // Rounded to the nearest 0.01 dB.
  static Gain decibels(double value) {
    return Gain{static_cast<std::int32_t>(std::lround(value * 100.0))};
  }

  constexpr std::int32_t centidecibels() const { return centidecibels_; }
  constexpr double decibels() const { return centidecibels_ / 100.0; }

  friend constexpr Gain operator-(Gain a, Gain b) {
    return Gain{a.centidecibels_ - b.centidecibels_};
  }
  friend constexpr Gain operator+(Gain a, Gain b) {
    return Gain{a.centidecibels_ + b.centidecibels_};
  }
  friend constexpr auto operator<=>(const Gain&, const Gain&) = default;

 private:
  explicit constexpr Gain(std::int32_t value) : centidecibels_{value} {}
  std::int32_t centidecibels_ = 0;
};

// An absolute power in dBm.
class PowerLevel {
 public:
  constexpr PowerLevel() = default;
  static constexpr PowerLevel dbm(double value) { return PowerLevel{value}; }
  constexpr double dbm() const { return dbm_; }
  friend constexpr auto operator<=>(const PowerLevel&, const PowerLevel&) = default;

 private:
  explicit constexpr PowerLevel(double value) : dbm_{value} {}
  double dbm_ = 0.0;
};

}  // namespace catwalk::rf
