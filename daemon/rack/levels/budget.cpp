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
  other.weigh_interference();
  return other;
}

void CarrierBudget::weigh_interference() {
  const auto against = interference();
  desensitisation = rf::desensitisation(against, noise);
  interference_costs = desensitisation;
  protection_decides = false;
  needed.reset();
  if (receiver == nullptr || !receiver->input) return;
  const auto& input = *receiver->input;
  const auto alone = noise + input.needed_over_noise(carrier->bandwidth);
  const auto over_noise = alone + desensitisation;
  const auto over_interference = against + input.protection_ratio;
  protection_decides = over_interference > over_noise;
  needed = protection_decides ? over_interference : over_noise;
  interference_costs = *needed - alone;
}

Interference CarrierBudget::most_of_interference() const {
  const auto most =
      std::max({intermodulation, transmitter_noise, blocking, co_channel, spurious_response});
  return most == intermodulation     ? Interference::intermodulation
         : most == transmitter_noise ? Interference::transmitter_noise
         : most == blocking          ? Interference::blocking
         : most == co_channel        ? Interference::co_channel
                                     : Interference::spurious_response;
}

}  // namespace catwalk::rack
