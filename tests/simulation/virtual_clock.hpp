// SPDX-License-Identifier: Apache-2.0
#pragma once
// The two clocks of a machine: one that only runs, and one on the wall that
// people and time servers set. Nothing here looks at a real one.

#include <chrono>

#include "daemon/rack/values/time.hpp"
#include "drivers/line/engine.hpp"

namespace catwalk::simulation {

using drivers::Micros;
using Moment = drivers::TimePoint;

class VirtualClock {
 public:
  // The wall shows the evening of the first day of the festival.
  static constexpr rack::TimePoint first_evening{
      std::chrono::sys_days{std::chrono::year{2031} / std::chrono::June / 14} +
      std::chrono::hours{18}};
  // Not zero, so that "an hour ago" is a moment too.
  static constexpr Moment start{std::chrono::hours{24}};

  Moment now() const { return now_; }
  rack::TimePoint wall() const {
    return first_evening + ahead_ + std::chrono::floor<Micros>(now_ - start);
  }
  Micros since_start() const { return std::chrono::floor<Micros>(now_ - start); }

  // Precondition: not back.
  void go_to(Moment moment) { now_ = moment; }
  // The clock on the wall is set, by so much forward, or back if negative.
  void set_by(Micros step) { ahead_ += step; }

 private:
  Moment now_ = start;
  Micros ahead_{0};
};

}  // namespace catwalk::simulation
