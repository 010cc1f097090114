// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/transmitter_products.hpp"

#include <algorithm>
#include <optional>
#include <utility>

#include "daemon/rf/intermodulation.hpp"

namespace catwalk::rack {
namespace {

// What arrives from the other at the output of the own. Nothing: not known.
std::optional<rf::PowerLevel> arriving(const plan::Carrier& own, const plan::Carrier& other) {
  if (const auto measured = own.isolations_from.find(other.name);
      measured != own.isolations_from.end())
    return *other.erp - measured->second;
  if (!own.place || !other.place) return std::nullopt;
  const auto received =
      rf::received(rf::Erp::of(*other.erp), other.frequency,
                   {.distance = plan::distance(*own.place, *other.place)}, rf::dipole_gain);
  return received ? std::optional{received->level} : std::nullopt;
}

rf::Tone tone_of(const plan::Carrier& carrier) {
  return {carrier.frequency, {}, carrier.emission()};
}

}  // namespace

bool may_mix(const plan::Carrier& carrier) {
  return carrier.erp && (carrier.place || !carrier.isolations_from.empty());
}

std::vector<TransmitterProduct> transmitter_products(
    const std::vector<CarrierAtAntenna>& carriers) {
  std::vector<std::pair<rf::Frequency, std::size_t>> channels;  // by their centres
  rf::Frequency widest;
  for (std::size_t i = 0; i < carriers.size(); ++i) {
    if (!carriers[i].served) continue;
    channels.emplace_back(carriers[i].carrier->frequency, i);
    widest = std::max(widest, carriers[i].carrier->bandwidth);
  }
  std::ranges::sort(channels);
  std::vector<TransmitterProduct> all;
  const auto add = [&](std::size_t own, std::size_t other) {
    const auto& twice = *carriers[own].carrier;
    const auto& once = *carriers[other].carrier;
    const auto at = twice.frequency + twice.frequency - once.frequency;
    const auto beyond = std::max(twice.emission().reach(), once.emission().reach()) + widest / 2;
    std::optional<rf::PowerLevel> taken_in;
    auto channel = std::ranges::lower_bound(channels, std::pair{at - beyond, std::size_t{0}});
    for (; channel != channels.end() && channel->first <= at + beyond; ++channel) {
      const auto in = channel->second;
      const auto share =
          rf::share_in(carriers[in].carrier->band(), tone_of(twice), tone_of(twice), tone_of(once));
      if (share <= 0.0) continue;
      if (!taken_in) taken_in = arriving(twice, once);
      if (!taken_in) return;
      const auto lost = twice.conversion_loss.value_or(usual_conversion_loss);
      all.push_back({in, own, other, at, *taken_in - lost - *twice.erp, share});
    }
  };
  for (std::size_t own = 0; own < carriers.size(); ++own) {
    if (!may_mix(*carriers[own].carrier)) continue;
    for (std::size_t other = 0; other < carriers.size(); ++other)
      if (carriers[other].carrier->erp &&
          carriers[other].carrier->frequency != carriers[own].carrier->frequency)
        add(own, other);
  }
  std::ranges::stable_sort(all, {}, &TransmitterProduct::in);
  return all;
}

}  // namespace catwalk::rack
