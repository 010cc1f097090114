// SPDX-License-Identifier: Apache-2.0
#pragma once
// What goes from a lowest value to a highest one in steps of one size: a gain, the centre of a
// filter.

#include <algorithm>
#include <cstdint>
#include <optional>

#include "daemon/rf/units.hpp"

namespace catwalk::plan {

// The whole numbers that steps are counted in, so that nothing is rounded: 0.01 dB, and hertz.
constexpr std::int64_t count_of(rf::Gain gain) { return gain.centidecibels(); }
constexpr std::int64_t count_of(rf::Frequency frequency) { return frequency.hertz(); }
constexpr void set_count(rf::Gain& gain, std::int64_t count) {
  gain = rf::Gain::centidecibels(static_cast<std::int32_t>(count));
}
constexpr void set_count(rf::Frequency& frequency, std::int64_t count) {
  frequency = rf::Frequency::hertz(count);
}

// step > 0, lowest ≤ highest: config refuses all else.
template <class T>
struct Steps {
  T lowest;
  T highest;
  T step;  // counted from the lowest
  friend bool operator==(const Steps&, const Steps&) = default;

  bool reaches(T value) const { return lowest <= value && value <= highest; }
  bool on_step(T value) const { return count_of(value - lowest) % count_of(step) == 0; }
  // The last step that is not above. Precondition: value ≥ lowest.
  T at_or_below(T value) const {
    T at;
    const auto steps = count_of(value - lowest) / count_of(step);
    set_count(at, count_of(lowest) + steps * count_of(step));
    return at;
  }
  // Those that lie within both limits; nothing: none does.
  std::optional<Steps> within(T low, T high) const {
    Steps inner{lowest, std::min(high, highest), step};
    if (inner.highest < lowest) return std::nullopt;
    inner.highest = at_or_below(inner.highest);
    if (low > lowest) inner.lowest = at_or_below(low);
    if (inner.lowest < low) inner.lowest = inner.lowest + step;
    return inner.highest < inner.lowest ? std::nullopt : std::optional{inner};
  }
  // visit(lowest), visit(lowest + step) … up to the highest.
  template <class Visit>
  void for_each(const Visit& visit) const {
    for (auto value = lowest; value <= highest; value = value + step) visit(value);
  }
};

}  // namespace catwalk::plan
