// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the amplifiers before a tuned node, in it and behind it make of its carriers: the
// intermodulation products that fall into the channels which are to be heard. Stages without a
// filter between them distort the same signals, and are one.

#include <cstddef>
#include <optional>
#include <vector>

#include "daemon/rack/levels/node_physics.hpp"
#include "daemon/rf/cascade.hpp"
#include "daemon/rf/intermodulation_search.hpp"

namespace catwalk::rack {

// dB that each of NodePhysics::carriers() loses on the way; negative where an amplifier in the lead
// gives it more than the rest of the lead and the filter take.
struct NodeLosses {
  std::vector<double> before;  // the node's amplifier, from the antenna's terminals
  std::vector<double> after;   // it, to the node's output
};

// Searches for products that serve one tuning after the other: their tables are used again, and
// what does not change between tunings is not searched again. For one NodePhysics.
class SharedSearches {
 private:
  friend class Distortion;
  struct Kept {
    std::vector<double> losses;  // that it was made for
    std::optional<rf::IntermodulationSearch> search;
  };
  // Behind a combiner, where other antennas bring their carriers.
  struct Together {
    std::vector<rf::PowerLevel> levels;  // that it was made for
    std::optional<rf::IntermodulationSearch> search;
  };
  Kept in_lead_;
  Kept at_amplifier_;
  Kept behind_;
  std::vector<Together> together_;  // of each outlet
};

// Searches are made when first asked for; one thread at a time may use one. With `shared` one
// Distortion at a time may be asked for anything.
class Distortion {
 public:
  Distortion(const NodePhysics& physics, NodeLosses losses, SharedSearches* shared);

  const NodeLosses& losses() const { return losses_; }

  // A carrier on its way to a receiver.
  struct Way {
    const NodePhysics::Outlet& outlet;
    std::size_t served;  // which of the outlet's
    std::size_t carrier() const { return outlet.served[served]; }
  };
  // In the band of this carrier, at the antenna's terminals. `own`: the node's amplifier.
  rf::PowerLevel on(const Way& way, const rf::Stage& own) const;
  // What it is made of, strongest first, each as all stages together make it.
  std::vector<rf::Product> products(const Way& way, const rf::Stage& own) const;
  // The first of them, which is much faster. Nothing: there is none.
  std::optional<rf::Product> worst(const Way& way, const rf::Stage& own) const;

  // From now on as if this carrier stood there, its levels and losses being as they are.
  void try_carrier_at(std::size_t carrier, rf::Frequency to);

 private:
  std::size_t channel_of(std::size_t carrier) const;
  std::vector<double> losses_in_lead() const;
  const rf::IntermodulationSearch& search_in_lead() const;
  const rf::IntermodulationSearch& search_at_amplifier() const;
  const rf::IntermodulationSearch& search_behind() const;
  rf::IntermodulationSearch search(const std::vector<double>& losses,
                                   const std::vector<std::size_t>& carriers) const;
  rf::IntermodulationSearch search(const std::vector<rf::PowerLevel>& levels,
                                   const std::vector<std::size_t>& carriers) const;
  const rf::IntermodulationSearch& search_together(const NodePhysics::Outlet& outlet,
                                                   const rf::Stage& own) const;
  std::vector<std::size_t> tones_together(const NodePhysics::Outlet& outlet) const;
  const rf::IntermodulationSearch& shared_search(SharedSearches::Kept& kept,
                                                 const std::vector<double>& losses) const;
  std::vector<double> losses_behind() const;
  bool filtered_behind() const;
  // Who distorts on the way of a carrier: visit(search, intercepts where its carriers are told,
  // what is lost of the products from the antenna's terminals to there).
  template <class Visit>
  void for_each(const Way& way, const rf::Stage& own, const Visit& visit) const;

  const NodePhysics* physics_;
  NodeLosses losses_;
  std::vector<std::size_t> channels_;  // carriers that are served, in the order of the channels
  SharedSearches* shared_ = nullptr;
  bool tries_ = false;                   // carriers elsewhere
  std::vector<rf::Frequency> stand_at_;  // where carriers stand or are tried
  mutable std::optional<rf::IntermodulationSearch> in_lead_;
  mutable std::optional<rf::IntermodulationSearch> at_amplifier_;
  mutable std::optional<rf::IntermodulationSearch> behind_;
  mutable std::vector<SharedSearches::Together> together_;  // of each outlet
};

}  // namespace catwalk::rack
