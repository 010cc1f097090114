// SPDX-License-Identifier: Apache-2.0
#pragma once
// What one node does to every carrier of a segment, from its antenna's terminals to the inputs of
// the receivers behind it: levels, noise, intermodulation, and what is left for the weakest.
//
// In three steps, so that a search over settings pays only for what changes:
//   NodePhysics  plan and segment: levels at the antenna, everything behind the node
//   TunedNode    a filter at a centre: what it takes off each carrier, intermodulation
//   Budget       a gain
//
// The chain, in order:
//   antenna | lead | filter, amplifier (or the other way round) | feed | combiner | chain |
//   receiver
//
// Model, beside what the headers in rf/ say of each part:
//  - Every carrier is as strong as it ever gets, all at once: the worst case for overload and
//    intermodulation. The weakest level counts for the link margin.
//  - Distortion of the node's amplifier and of all that follows adds in phase, the worst case.
//    Behind the node all carriers are taken to keep the levels relative to each other that they
//    have when they leave it: a feed's loss differs little within a band.
//  - Other antennas on the same combiner bring their noise, and their carriers' power to what
//    follows the combiner; their intermodulation is not counted.
//  - Noise, interference and margins of a carrier are given at the antenna's terminals.

#include <functional>
#include <optional>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/physics/carrier_levels.hpp"
#include "daemon/rf/cascade.hpp"
#include "daemon/rf/intermodulation_search.hpp"

namespace catwalk::rack {

// Settings that another node of the rack is in; nothing: not known, and it counts as passive.
using SettingsOf = std::function<std::optional<plan::Settings>(const plan::NodeName&)>;

// ---- the result --------------------------------------------------------------------------------

// All carriers together in one amplifier of the chain.
struct AmplifierLoad {
  std::string amplifier;  // the node's name, or that of an amplifier in the rack
  rf::PowerLevel input;
  rf::PowerLevel output;
  rf::PowerLevel output_p1db;
  const plan::Carrier* strongest = nullptr;  // of those in it; never null

  rf::Decibel margin() const { return output_p1db - output; }  // negative: in compression
};

struct ReceiverLoad {
  const plan::Receiver* receiver = nullptr;
  const plan::Carrier* strongest = nullptr;
  rf::PowerLevel level;  // of that carrier, at the receiver's input

  // Precondition: the receiver's input is known.
  rf::Decibel margin() const { return receiver->input->overload - level; }
};

// One carrier that has to be heard, at one receiver. Levels at the antenna's terminals.
struct CarrierBudget {
  const plan::Carrier* carrier = nullptr;
  const plan::Receiver* receiver = nullptr;  // null: what is behind the node is not known
  rf::Decibel chain_gain = {};               // from the antenna's terminals to the receiver's input
  rf::Decibel noise_figure = {};  // of all, the receiver counted where its figures are known
  rf::PowerLevel noise = {};      // kT0B + noise figure, in the carrier's bandwidth
  rf::PowerLevel intermodulation = rf::no_power();  // of all stages, in the carrier's band
  rf::PowerLevel transmitter_noise = rf::no_power();
  rf::PowerLevel blocking = rf::no_power();  // as an interferer of equal effect
  rf::Decibel desensitisation = {};          // by these three together
  std::optional<rf::PowerLevel> weakest = {};
  std::optional<rf::PowerLevel> needed = {};  // where the receiver would just do, all counted
  // Of the weakest over what is needed; negative: not heard. Absent: one of them is not known.
  std::optional<rf::Decibel> margin() const;
  // To find who is worst off: the margin; where none is known, the noise that is added, negative.
  rf::Decibel standing() const { return margin().value_or(-(noise_figure + desensitisation)); }
  rf::PowerLevel interference() const {
    return rf::power_sum({intermodulation, transmitter_noise, blocking});
  }
};

struct Budget {
  std::vector<AmplifierLoad> amplifiers;  // the node's own first, unless it is passive
  std::vector<ReceiverLoad> receivers;    // those with a carrier of known level
  std::vector<CarrierBudget> carriers;  // receivers in the plan's order, carriers in the segment's
};

// ---- the way to it -----------------------------------------------------------------------------

class NodePhysics {
 public:
  // Keeps references: `plan`, `segment` and `node` have to live as long.
  NodePhysics(const plan::RackPlan& plan, const plan::Segment& segment, const plan::Node& node,
              const SettingsOf& others);

  const plan::Node& node() const { return *node_; }
  const std::vector<CarrierAtAntenna>& carriers() const { return carriers_; }
  // Whose carrier stands at this frequency; the frequency itself if nobody's does.
  std::string name_at(rf::Frequency frequency) const;
  // Does anything need a number? False: no level is known and nothing behind the node.
  bool has_numbers() const;

 private:
  friend class TunedNode;

  // What one carrier finds behind the node, on the way to one receiver.
  struct Behind {
    rf::Decibel gain;                       // to the receiver's input
    std::vector<rf::Decibel> to_amplifier;  // to the input of each of Outlet::amplifiers
    std::vector<double> foreign;  // mW that other antennas bring there; the receiver's input last
  };
  // A receiver that hears through this node.
  struct Outlet {
    const plan::Receiver* receiver = nullptr;  // null: nothing is known behind the node
    std::vector<const plan::RackAmplifier*> amplifiers;
    std::vector<Behind> behind;         // for each carrier
    std::vector<std::size_t> served;    // carriers that this receiver must hear
    std::vector<rf::Cascade> cascades;  // of what is behind the node, for each of `served`
  };

  void add_outlet(const plan::Receiver& receiver, const plan::Branch& branch,
                  const SettingsOf& others);
  void add_node_alone();

  const plan::RackPlan* plan_;
  const plan::Segment* segment_;
  const plan::Node* node_;
  std::vector<CarrierAtAntenna> carriers_;
  std::vector<double> lead_loss_;  // dB, of each carrier
  std::vector<Outlet> outlets_;
  double transmitter_noise_ = 0.0;  // mW/Hz at the antenna
};

class TunedNode {
 public:
  // Passive where the datasheet has no such filter, or it does not reach this centre.
  TunedNode(const NodePhysics& physics, std::uint8_t filter, rf::Frequency centre);
  // As the settings make it: passive without power.
  TunedNode(const NodePhysics& physics, const plan::Settings& settings);
  // Without power, whatever its settings.
  static TunedNode passive(const NodePhysics& physics);

  const NodePhysics& physics() const { return *physics_; }

  // The gain of a passive node is what the datasheet says, whatever is asked.
  Budget at(rf::Gain gain) const;
  // Budget::amplifiers alone, which is much faster.
  std::vector<AmplifierLoad> amplifiers_at(rf::Gain gain) const;

  // Amplifier and receiver loads and chain gains alone, as numbers that any gain only shifts: what
  // a search looks at before it pays for a whole budget. In dB and dBm at a gain of 0 dB.
  struct Loads {
    struct Amplifier {
      double power = 0.0;    // mW at its input, of all carriers through this node
      double foreign = 0.0;  // mW, that no gain of this node changes
      double limit = 0.0;    // mW there, where the output is at its P1dB
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

  // The products behind one.intermodulation, strongest first, each as all stages together make it,
  // at the antenna's terminals. Precondition: `one` is of at(gain).
  std::vector<rf::Product> products(const CarrierBudget& one, rf::Gain gain) const;

 private:
  explicit TunedNode(const NodePhysics& physics);
  rf::Stage own_stage(rf::Gain gain) const;
  std::size_t channel_of(std::size_t carrier) const;
  const rf::IntermodulationSearch& search_at_amplifier() const;
  const rf::IntermodulationSearch& search_behind() const;
  rf::IntermodulationSearch search(const std::vector<double>& losses) const;
  rf::PowerLevel at_receiver(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                             std::size_t carrier) const;
  bool filtered_behind() const;
  // Who distorts on the way of a carrier: visit(search, intercept at the node's amplifier, what is
  // lost of the products from there on). Stages without a filter between are one.
  template <class Visit>
  void for_each_distorting(const rf::Stage& own, const rf::Cascade& behind, std::size_t carrier,
                           const Visit& visit) const;
  void load_receivers(Budget& budget, const rf::Stage& own) const;
  void weigh_carriers(Budget& budget, const rf::Stage& own) const;

  const NodePhysics* physics_;
  bool powered_ = true;
  std::vector<double> before_;         // dB that each carrier loses before the amplifier
  std::vector<double> after_;          // and between it and the node's output
  std::vector<std::size_t> channels_;  // carriers that are served, in the order of the channels
  // Made when first asked for; one thread at a time may use a TunedNode.
  mutable std::optional<rf::IntermodulationSearch> at_amplifier_;
  mutable std::optional<rf::IntermodulationSearch> behind_;
};

// The whole way at once.
Budget budget_of(const NodePhysics& physics, const plan::Settings& settings);

}  // namespace catwalk::rack
