// SPDX-License-Identifier: Apache-2.0
#pragma once
// Another node on the same combiner, as far as it matters to this one: what it brings there.

#include <optional>
#include <vector>

#include "daemon/rack/levels/carrier_levels.hpp"
#include "daemon/rf/feed.hpp"

namespace catwalk::rack {

class OtherNode {
 public:
  // Settings unknown, without power or beyond what its datasheet reaches: a passive antenna.
  OtherNode(const plan::RackPlan& plan, const plan::Segment& segment, const plan::Node& node,
            const std::optional<plan::Settings>& settings);

  // From its antenna's terminals to the end of its feed; what its antenna hears beside kT0 is in
  // the noise figure.
  rf::Branch at(rf::Frequency frequency) const;
  // mW/Hz of own transmitters' wide-band noise, at its antenna's terminals.
  double transmitter_noise() const { return noise_density_of(carriers_); }
  // Of the segment's carriers, in their order, at its antenna's terminals.
  std::optional<rf::PowerLevel> strongest(std::size_t carrier) const {
    return carriers_[carrier].strongest;
  }

 private:
  const plan::RackPlan* plan_;
  const plan::Node* node_;
  std::vector<CarrierAtAntenna> carriers_;
  rf::Gain gain_;                            // of one with a filter
  std::optional<plan::TunedFilter> filter_;  // absent: passive
};

}  // namespace catwalk::rack
