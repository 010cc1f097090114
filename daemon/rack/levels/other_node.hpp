// SPDX-License-Identifier: Apache-2.0
#pragma once
// Another node on the same combiner, as far as it matters to this one: what it brings there.

#include <memory>
#include <optional>
#include <vector>

#include "daemon/rack/levels/tuned_node.hpp"
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
  double transmitter_noise() const { return noise_density_of(physics_->carriers()); }
  // Of the segment's carriers, in their order, at its antenna's terminals.
  std::optional<rf::PowerLevel> strongest(std::size_t carrier) const {
    return physics_->carriers()[carrier].strongest;
  }
  const plan::Node& node() const { return physics_->node(); }
  bool powered() const { return filter_.has_value(); }

  // What its amplifiers, those of its lead and of its feed make of what its antenna hears: mW in
  // the channel of each of the segment's carriers that it serves, at its antenna's terminals.
  std::vector<double> products() const;
  // What they are in one of these channels, strongest first.
  std::vector<rf::Product> products_on(const plan::Carrier& channel) const;

 private:
  const plan::RackPlan* plan_;
  // Where TunedNode looks for it, wherever this is moved.
  std::unique_ptr<const NodePhysics> physics_;  // to the end of its feed
  rf::Gain gain_;                               // of one with a filter
  std::optional<plan::TunedFilter> filter_;     // absent: passive
  TunedNode tuned_;
};

}  // namespace catwalk::rack
