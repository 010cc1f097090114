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

rf::PowerLevel CarrierBudget::of(Interference kind) const {
  switch (kind) {
    case Interference::intermodulation:
      return intermodulation;
    case Interference::transmitter_noise:
      return transmitter_noise;
    case Interference::blocking:
      return blocking;
    case Interference::co_channel:
      return co_channel;
    case Interference::spurious_response:
      return spurious_response;
    case Interference::transmitter_products:
      return transmitter_products;
    case Interference::brought_products:
      return brought_products;
  }
  return rf::no_power();
}

rf::PowerLevel CarrierBudget::interference() const {
  double power = 0.0;
  for (const auto& [name, kind] : words_of(Interference{})) power += rf::milliwatts(of(kind));
  return rf::from_milliwatts(power);
}

Interference CarrierBudget::most_of_interference() const {
  auto most = Interference::intermodulation;
  for (const auto& [name, kind] : words_of(Interference{}))
    if (of(kind) > of(most)) most = kind;
  return most;
}

}  // namespace catwalk::rack
