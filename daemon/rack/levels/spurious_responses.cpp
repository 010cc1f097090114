// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/spurious_responses.hpp"

#include <algorithm>

namespace catwalk::rack {

double overlapping_share(const rf::Band& band, const rf::Band& channel) {
  const auto in = std::min(band.high, channel.high) - std::max(band.low, channel.low);
  return static_cast<double>(in.hertz()) / static_cast<double>(band.width().hertz());
}

std::vector<Stray> strays_of(const plan::ReceiverInput& input,
                             const std::vector<CarrierAtAntenna>& carriers,
                             std::span<const std::size_t> served) {
  std::vector<Stray> strays;
  for (const auto i : served)
    for (const auto& response : input.spurious_responses) {
      const auto channel = carriers[i].carrier->band();
      const rf::Band heard{channel.low + response.offset, channel.high + response.offset};
      const double left = (-response.rejection).ratio();
      for (std::size_t j = 0; j < carriers.size(); ++j) {
        const auto band = carriers[j].carrier->band();
        if (j != i && band.overlaps(heard))
          strays.push_back({i, j, overlapping_share(band, heard) * left, &response});
      }
    }
  return strays;
}

}  // namespace catwalk::rack
