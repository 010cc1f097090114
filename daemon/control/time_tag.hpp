// SPDX-License-Identifier: Apache-2.0
#pragma once
// OSC time tags: seconds since 1 January 1900 UTC in the upper 32 bits, their fraction in the lower
// (OSC 1.0, "Temporal Semantics and OSC Time Tags": the format of NTP timestamps).
//
// The seconds start again from 0 on 7 February 2036. A tag means the moment nearest to now, so
// nothing breaks that night; what is meant lies within 68 years.

#include <chrono>
#include <cstdint>

#include "daemon/rack/values/time.hpp"

namespace catwalk::control {

struct TimeTag {
  std::uint64_t bits = 1;
  friend bool operator==(const TimeTag&, const TimeTag&) = default;

  // The tag 1, which no moment has.
  static constexpr TimeTag immediately() { return {1}; }
};

TimeTag time_tag_of(rack::TimePoint at);

// How far the tag lies ahead of now, in whole microseconds; negative: it has passed. Immediately is
// not ahead.
std::chrono::microseconds ahead_of(TimeTag tag, rack::TimePoint now);

}  // namespace catwalk::control
