// SPDX-License-Identifier: Apache-2.0
#pragma once
// Another branch of a diversity receiver, as far as a fading margin asks for it: whether it hears a
// carrier at all.
//
// The best of two antennas fades less than one only where both hear. An antenna counts that brings
// the carrier at its weakest to what the receiver needs over the noise of that way alone, with its
// node in the settings that are given. One without power, or in settings that are not known, is a
// plain antenna with its cable and counts if that is enough; one whose filter stands elsewhere has
// what the filter takes against it. Interference there is not asked: it is another antenna's
// verdict. Of an antenna to which no level is known nothing is credited.

#include <cstddef>
#include <optional>
#include <vector>

#include "daemon/rack/levels/carrier_levels.hpp"
#include "daemon/rack/levels/node_physics.hpp"

namespace catwalk::rack {

class OtherBranch {
 public:
  // Keeps references: `plan`, `receiver` and `branch` have to live as long. Precondition: the
  // receiver's input is known.
  OtherBranch(const plan::RackPlan& plan, const plan::Segment& segment,
              const plan::Receiver& receiver, const plan::Branch& branch, const SettingsOf& others);

  struct Antenna {
    const plan::Node* node = nullptr;         // never null
    std::optional<plan::Settings> settings;   // as they were given
    std::optional<plan::TunedFilter> filter;  // absent: passive
    std::vector<CarrierAtAntenna> carriers;
  };
  const std::vector<Antenna>& antennas() const { return antennas_; }

  // By any antenna of the branch; of the segment's carriers in their order.
  bool hears(std::size_t carrier) const;

 private:
  rf::PowerLevel needed(const Antenna& antenna, const plan::Carrier& carrier) const;
  rf::Branch to_combiner(const Antenna& antenna, rf::Frequency frequency) const;

  const plan::RackPlan& plan_;
  const plan::Receiver& receiver_;
  const plan::Branch& branch_;
  std::vector<Antenna> antennas_;
};

}  // namespace catwalk::rack
