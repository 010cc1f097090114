// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rf/noise.hpp"

namespace catwalk::plan {

rf::Decibel ReceiverInput::needed_over_noise(rf::Frequency bandwidth) const {
  return sensitivity - (rf::thermal_noise(bandwidth) + noise_figure);
}

std::optional<rf::Decibel> ReceiverInput::blocking_rejection(rf::Frequency offset) const {
  if (blocking.empty()) return std::nullopt;
  const auto above = std::ranges::upper_bound(blocking, offset, {}, &BlockingPoint::offset);
  if (above == blocking.end()) return blocking.back().rejection;
  const BlockingPoint channel{};  // itself: nothing is rejected
  const auto& low = above == blocking.begin() ? channel : *(above - 1);
  const double share = static_cast<double>((offset - low.offset).hertz()) /
                       static_cast<double>((above->offset - low.offset).hertz());
  return low.rejection + share * (above->rejection - low.rejection);
}

}  // namespace catwalk::plan
