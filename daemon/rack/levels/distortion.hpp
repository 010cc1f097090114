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
    rf::Decibel gain;            // likewise, of the node
    std::optional<rf::IntermodulationSearch> search;
  };
  std::vector<Kept> kept_;  // at each Distortion::Place
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
  // What it is made of, strongest first and at most so many, each as all stages together make it.
  std::vector<rf::Product> products(const Way& way, const rf::Stage& own, std::size_t most) const;
  // The first of them, which is faster. Nothing: there is none.
  std::optional<rf::Product> worst(const Way& way, const rf::Stage& own) const;

  // From now on as if this carrier stood there, its levels and losses being as they are.
  void try_carrier_at(std::size_t carrier, rf::Frequency to);

 private:
  // Where signals are distorted: at the first amplifier of the lead, at the node's own, behind it,
  // and at the inputs of each outlet's combiner.
  struct Place {
    std::size_t number;
    const NodePhysics::Outlet* combiner;  // null: at no combiner
    rf::Decibel gain;                     // of the node, where it matters to what arrives
  };
  static constexpr Place in_lead{0, nullptr, {}};
  static constexpr Place at_amplifier{1, nullptr, {}};
  static constexpr Place behind{2, nullptr, {}};
  Place at_combiner(const NodePhysics::Outlet& outlet, const rf::Stage& own) const;

  std::size_t channel_of(std::size_t carrier) const;
  rf::Band band_of(std::size_t carrier) const;
  // dB that each carrier loses on its way to a place.
  const std::vector<double>& losses_to(const Place& place) const;
  std::vector<std::size_t> carriers_at(const Place& place) const;
  rf::PowerLevel level_at(const Place& place, std::size_t carrier) const;
  std::vector<rf::Tone> tones_at(const Place& place) const;
  const rf::IntermodulationSearch& search_at(const Place& place) const;
  std::vector<SharedSearches::Kept>& kept() const;
  bool filtered_behind() const;
  // Who distorts on the way of a carrier: visit(place, intercepts where its carriers are told,
  // what is lost of the products from the antenna's terminals to there).
  template <class Visit>
  void for_each(const Way& way, const rf::Stage& own, const Visit& visit) const;
  struct Distorting {
    Place place;
    rf::Intercepts at;
    rf::Decibel lost;
  };
  std::vector<Distorting> distorting(const Way& way, const rf::Stage& own) const;
  std::vector<rf::Product> third_order(const Way& way, const std::vector<Distorting>& by,
                                       std::size_t most) const;
  std::vector<rf::Product> fifth_order(const Way& way, const std::vector<Distorting>& by) const;

  const NodePhysics* physics_;
  NodeLosses losses_;
  std::vector<double> losses_in_lead_;  // to its first amplifier; none: there is no such
  std::vector<double> losses_behind_;   // before and after the node's amplifier
  std::vector<std::size_t> channels_;   // carriers that are served, in the order of the channels
  SharedSearches* shared_ = nullptr;
  bool tries_ = false;                   // carriers elsewhere
  std::vector<rf::Frequency> stand_at_;  // where carriers stand or are tried
  mutable SharedSearches own_;           // without `shared_`
};

}  // namespace catwalk::rack
