// SPDX-License-Identifier: Apache-2.0
#pragma once
// A node with its filter at a centre: what it takes off each carrier, and what becomes of them at
// any gain (node_physics.hpp has the whole way).

#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "daemon/rack/levels/budget.hpp"
#include "daemon/rack/levels/distortion.hpp"
#include "daemon/rack/levels/node_physics.hpp"

namespace catwalk::rack {

class TunedNode {
 public:
  // Passive where the datasheet has no such filter, or it does not reach this centre. With `shared`
  // one TunedNode at a time may be asked for anything.
  TunedNode(const NodePhysics& physics, std::uint8_t filter, rf::Frequency centre,
            SharedSearches* shared = nullptr);
  // As the settings make it: passive without power.
  TunedNode(const NodePhysics& physics, const plan::Settings& settings,
            SharedSearches* shared = nullptr);
  // Without power, whatever its settings.
  static TunedNode passive(const NodePhysics& physics, SharedSearches* shared = nullptr);

  const NodePhysics& physics() const { return *physics_; }
  // dB that each of the carriers loses in lead and node, the node's amplifier apart.
  std::vector<double> losses_of_carriers() const;

  // The gain of a passive node is what the datasheet says, whatever is asked.
  Budget at(rf::Gain gain) const;
  // Budget::carriers alone, as if no amplifier distorted anything, which is much faster, and never
  // worse.
  Budget carriers_without_products_at(rf::Gain gain) const;
  // Budget::amplifiers alone, which is much faster.
  std::vector<AmplifierLoad> amplifiers_at(rf::Gain gain) const;

  // For whoever looks for a better frequency: the products as they would fall if this one of
  // NodePhysics::carriers() stood at `to`, its levels and what it loses on the way being as they
  // are. Of intermodulation_at() alone; all else stays where it was.
  void try_carrier_at(std::size_t carrier, rf::Frequency to);
  // CarrierBudget::intermodulation of each of Budget::carriers, which is much faster.
  std::vector<rf::PowerLevel> intermodulation_at(rf::Gain gain) const;

  // Amplifier and receiver loads and chain gains alone, as numbers that any gain only shifts: what
  // a search looks at before it pays for a whole budget. In dB and dBm at a gain of 0 dB.
  struct Loads {
    struct Amplifier {
      double power = 0.0;    // mW at its input, of all carriers through this node
      double steady = 0.0;   // mW of this antenna in its lead, before any gain of the node
      double foreign = 0.0;  // mW of other antennas, that no gain of this node changes either
      double limit = 0.0;    // mW there, where the output is at its P1dB
      // Of the node's own whose limit goes with its gain.
      const plan::Datasheet* by_gain = nullptr;
      double limit_at(rf::Gain gain) const {
        return by_gain == nullptr ? limit : rf::milliwatts(by_gain->output_p1db(gain));
      }
    };
    struct ChainGain {
      double lowest = 0.0;  // dB, of the carriers that this receiver must hear
      double highest = 0.0;
    };
    struct Receiver {
      std::vector<std::pair<double, double>> powers;  // mW of each carrier: through this node, not
      double limit = 0.0;                             // mW, its overload
    };
    std::vector<Amplifier> amplifiers;
    std::vector<ChainGain> chain_gains;
    std::vector<Receiver> receivers;  // whose input is known
  };
  Loads loads() const;

  // The products behind served.intermodulation, strongest first and at most so many, each as all
  // stages together make it, at the antenna's terminals. Precondition: `served` is of at(gain).
  std::vector<rf::Product> products(const CarrierBudget& served, rf::Gain gain,
                                    std::size_t most = rf::every_one) const;
  // The first of them, which is faster. Nothing: there is none.
  std::optional<rf::Product> worst_product(const CarrierBudget& served, rf::Gain gain) const;

  // What served.brought_products is made of, likewise.
  struct Brought {
    const plan::Node* by = nullptr;  // never null
    bool powered = false;            // its own amplifier works; else those of its lead and its feed
    rf::Product product;
  };
  std::vector<Brought> brought(const CarrierBudget& served, rf::Gain gain,
                               std::size_t most = rf::every_one) const;

  // What served.spurious_response is made of, strongest first, likewise: a carrier at a response of
  // the receiver, as an interferer of equal effect at the antenna's terminals.
  struct HeardBeside {
    const plan::SpuriousResponse* response = nullptr;  // never null
    const plan::Carrier* carrier = nullptr;            // likewise
    rf::PowerLevel level;
  };
  std::vector<HeardBeside> strays(const CarrierBudget& served, rf::Gain gain) const;

 private:
  struct Tuned {
    NodeLosses losses;
    bool powered = true;
  };
  static std::vector<double> lead_losses(const NodePhysics& physics);
  static Tuned tuned(const NodePhysics& physics, std::uint8_t filter, rf::Frequency centre);
  TunedNode(const NodePhysics& physics, Tuned tuned, SharedSearches* shared);
  const NodeLosses& losses() const { return distortion_.losses(); }
  // dB that a carrier loses in lead and node, the node's amplifier apart.
  rf::Decibel loss(std::size_t carrier) const;
  rf::Stage own_stage(rf::Gain gain) const;
  double at_receiver(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                     std::size_t carrier) const;
  std::optional<Distortion::Way> find(const CarrierBudget& served) const;
  void load_receivers(Budget& budget, const rf::Stage& own) const;
  rf::Decibel noise_figure(const NodePhysics::Outlet& outlet, std::size_t served,
                           const rf::Stage& own) const;
  rf::PowerLevel in_channel(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                            std::size_t carrier) const;
  rf::PowerLevel by_responses(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                              std::size_t carrier) const;
  enum class Products { counted, left_out };
  void weigh_carriers(Budget& budget, const rf::Stage& own, Products products) const;

  const NodePhysics* physics_;
  bool powered_ = true;
  Distortion distortion_;
};

// The whole way at once.
Budget budget_of(const NodePhysics& physics, const plan::Settings& settings);

}  // namespace catwalk::rack
