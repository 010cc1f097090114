// SPDX-License-Identifier: Apache-2.0
#include "drivers/engine.hpp"

#include <algorithm>

namespace catwalk::drivers {

void LatencyEstimate::measured(Micros latency) {
  latency = std::max(latency, Micros{0});
  if (!any_) {
    any_ = true;
    mean_ = latency;
    variation_ = latency / 2;
    return;
  }
  const Micros off = latency > mean_ ? latency - mean_ : mean_ - latency;
  variation_ = (3 * variation_ + off) / 4;
  mean_ = (7 * mean_ + latency) / 8;
}

Micros LatencyEstimate::patience() const {
  if (!any_) return longest_;
  return std::clamp(mean_ + 4 * variation_, shortest_, longest_);
}

Micros Backoff::next() {
  const Micros pause = next_;
  next_ = std::min(2 * next_, last_);
  return pause;
}

bool answers(const protocol::Reply& reply, const protocol::Request& request) {
  using namespace protocol;
  if (std::holds_alternative<Wait>(reply) || std::holds_alternative<Refusal>(reply)) return true;
  if (std::holds_alternative<Report>(reply)) return false;
  if (std::holds_alternative<Identify>(request)) return std::holds_alternative<Identity>(reply);
  if (std::holds_alternative<Read>(request)) return std::holds_alternative<Reading>(reply);
  if (std::holds_alternative<Find>(request)) return std::holds_alternative<Found>(reply);
  return std::holds_alternative<Done>(reply);
}

}  // namespace catwalk::drivers
