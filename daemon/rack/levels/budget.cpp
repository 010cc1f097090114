// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/budget.hpp"

#include <algorithm>

#include "daemon/rf/desensitisation.hpp"

namespace catwalk::rack {

std::optional<rf::Decibel> CarrierBudget::margin() const {
  if (!weakest || !needed) return std::nullopt;
  return *weakest - *needed;
}

CarrierBudget CarrierBudget::with_intermodulation(rf::PowerLevel level) const {
  auto other = *this;
  other.intermodulation = level;
  other.desensitisation = rf::desensitisation(other.interference(), noise);
  if (needed) other.needed = *needed - desensitisation + other.desensitisation;
  return other;
}

Interference CarrierBudget::most_of_interference() const {
  const auto most = std::max({intermodulation, transmitter_noise, blocking, co_channel});
  return most == intermodulation     ? Interference::intermodulation
         : most == transmitter_noise ? Interference::transmitter_noise
         : most == blocking          ? Interference::blocking
                                     : Interference::co_channel;
}

}  // namespace catwalk::rack
