// SPDX-License-Identifier: Apache-2.0
#pragma once
// The time, in UTC, as the system has it; and when its clock was put forward or back, by comparing
// it with one that nobody can put.

#include <chrono>
#include <optional>

#include "daemon/rack/values/time.hpp"

namespace catwalk::shell {

inline rack::TimePoint now() {
  return std::chrono::time_point_cast<std::chrono::microseconds>(std::chrono::system_clock::now());
}

class WallClock {
 public:
  using Steady = std::chrono::steady_clock::time_point;

  // Less than this is a clock that is disciplined, not put. A clock that is slewed gains at most
  // 500 ppm (ntp_adjtime(2)), so this is not reached between two looks unless they are 16 min
  // apart.
  static constexpr std::chrono::milliseconds least_step{500};

  WallClock(rack::TimePoint wall, Steady steady) : wall_{wall}, steady_{steady} {}

  // By how much the wall clock was put since the last look; nothing: it was not.
  std::optional<std::chrono::microseconds> look(rack::TimePoint wall, Steady steady) {
    const auto by =
        (wall - wall_) - std::chrono::duration_cast<std::chrono::microseconds>(steady - steady_);
    wall_ = wall;
    steady_ = steady;
    if (std::chrono::abs(by) < least_step) return std::nullopt;
    return by;
  }

 private:
  rack::TimePoint wall_;
  Steady steady_;
};

}  // namespace catwalk::shell
