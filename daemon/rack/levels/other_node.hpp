// SPDX-License-Identifier: Apache-2.0
#pragma once
// Another node on the same combiner, as far as it matters to this one: what it brings there. Made
// once, it may be asked by several threads.

#include <cstddef>
#include <optional>
#include <vector>

#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rf/feed.hpp"

namespace catwalk::rack {

class OtherNode {
 public:
  // Settings unknown, without power or beyond what its datasheet reaches: a passive antenna. `arm`:
  // between its feed and the combiner (plan::Arm).
  // Keeps references: `plan`, `segment`, `node` and `arm` have to live as long.
  OtherNode(const plan::RackPlan& plan, const plan::Segment& segment, const plan::Node& node,
            const plan::Chain& arm, const std::optional<plan::Settings>& settings);

  const plan::Node& node() const { return physics_.node(); }
  const plan::Chain& arm() const { return *arm_; }
  const std::optional<plan::Settings>& settings() const { return settings_; }
  bool powered() const { return filter_.has_value(); }

  // From its antenna's terminals to the combiner; what its antenna hears beside kT0 is in
  // the noise figure.
  rf::Branch at(rf::Frequency frequency) const;
  // The same at each of the segment's carriers, in their order.
  const rf::Branch& to(std::size_t carrier) const { return to_[carrier]; }
  // At its antenna's terminals.
  std::optional<rf::PowerLevel> strongest(std::size_t carrier) const {
    return physics_.carriers()[carrier].strongest;
  }
  // mW of each carrier at the combiner.
  double arriving(std::size_t carrier) const { return arriving_[carrier]; }
  // mW/Hz of own transmitters' wide-band noise, at its antenna's terminals.
  double transmitter_noise() const { return transmitter_noise_; }

  // What its amplifiers, those of its lead, of its feed and of its arm make of what its antenna
  // hears: mW in the channel of each carrier that it serves, at its antenna's terminals.
  double products(std::size_t carrier) const { return products_[carrier]; }
  // What they are in one of these channels, strongest first, at most so many.
  std::vector<rf::Product> products_on(const plan::Carrier& channel, std::size_t most) const;

 private:
  TunedNode tuned() const;

  const plan::RackPlan* plan_;
  const plan::Chain* arm_;
  NodePhysics physics_;  // to the combiner
  std::optional<plan::Settings> settings_;
  std::optional<plan::TunedFilter> filter_;  // absent: passive
  double transmitter_noise_ = 0.0;
  std::vector<rf::Branch> to_;
  std::vector<double> arriving_;
  std::vector<double> products_;
};

}  // namespace catwalk::rack
