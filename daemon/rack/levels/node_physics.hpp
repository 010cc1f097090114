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
//  - A carrier whose band overlaps another's counts there with the share of its own band that does:
//    its power is taken to be spread evenly over it.
//  - Noise, interference and margins of a carrier are given at the antenna's terminals.

#include <functional>
#include <optional>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/levels/carrier_levels.hpp"
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

// What comes into a channel beside noise.
enum class Interference { intermodulation, transmitter_noise, blocking, co_channel };

// One carrier that has to be heard, at one receiver. Levels at the antenna's terminals.
struct CarrierBudget {
  const plan::Carrier* carrier = nullptr;
  const plan::Receiver* receiver = nullptr;  // null: what is behind the node is not known
  rf::Decibel chain_gain = {};               // from the antenna's terminals to the receiver's input
  rf::Decibel noise_figure = {};  // of all, the receiver counted where its figures are known
  rf::PowerLevel noise = {};      // kT0B + noise figure, in the carrier's bandwidth
  rf::PowerLevel intermodulation = rf::no_power();  // of all stages, in the carrier's band
  rf::PowerLevel transmitter_noise = rf::no_power();
  rf::PowerLevel blocking = rf::no_power();    // as an interferer of equal effect
  rf::PowerLevel co_channel = rf::no_power();  // of other carriers, what lies in this one's band
  rf::Decibel desensitisation = {};            // by these four together
  std::optional<rf::PowerLevel> weakest = {};
  std::optional<rf::PowerLevel> needed = {};  // where the receiver would just do, all counted
  // Of the weakest over what is needed; negative: not heard. Absent: one of them is not known.
  std::optional<rf::Decibel> margin() const;
  // As if products had this level instead.
  CarrierBudget with_intermodulation(rf::PowerLevel level) const;
  // To find who is worst off: the margin; where none is known, the noise that is added, negative.
  rf::Decibel standing() const { return margin().value_or(-(noise_figure + desensitisation)); }
  Interference most_of_interference() const;
  rf::PowerLevel interference() const {
    return rf::power_sum({intermodulation, transmitter_noise, blocking, co_channel});
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
  // Who makes a product: one name for each tone, that of a doubled one once.
  std::vector<std::string> makers_of(const rf::Product& product) const;
  // "twice A minus B", "A plus B minus C".
  std::string words_for(const rf::Product& product) const;

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

  // A carrier that lies in another's band, with the share of its power that does.
  struct Intruder {
    std::size_t in = 0;  // of carriers_, rising
    std::size_t who = 0;
    double share = 0.0;  // above 0, at most 1
  };

  void find_intruders();
  std::vector<std::size_t> of_known_level() const;
  void find_mixing();
  void add_outlet(const plan::Receiver& receiver, const plan::Branch& branch,
                  const SettingsOf& others);
  void add_node_alone();

  const plan::RackPlan* plan_;
  const plan::Segment* segment_;
  const plan::Node* node_;
  std::vector<CarrierAtAntenna> carriers_;
  std::vector<double> lead_loss_;  // dB, of each carrier
  std::vector<Outlet> outlets_;
  std::vector<Intruder> intruders_;
  // Carriers of known level without which no product falls into a channel that is served: the
  // others need no place in a search, and may lie gigahertz away.
  std::vector<std::size_t> mixing_;
  double transmitter_noise_ = 0.0;  // mW/Hz at the antenna
};

// Searches for products that serve one tuning after the other: their tables are used again, and
// what does not change between tunings is not searched again. For one NodePhysics.
class SharedSearches {
 private:
  friend class TunedNode;
  struct One {
    std::vector<double> losses;  // that it was made for
    std::optional<rf::IntermodulationSearch> search;
  };
  One at_amplifier_;
  One behind_;
};

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

  // The gain of a passive node is what the datasheet says, whatever is asked.
  Budget at(rf::Gain gain) const;
  // As if no amplifier distorted anything, which is much faster, and never worse.
  Budget without_products_at(rf::Gain gain) const;
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
  // The first of them, which is much faster. Nothing: there is none.
  std::optional<rf::Product> worst_product(const CarrierBudget& one, rf::Gain gain) const;

 private:
  explicit TunedNode(const NodePhysics& physics);
  rf::Stage own_stage(rf::Gain gain) const;
  std::size_t channel_of(std::size_t carrier) const;
  const rf::IntermodulationSearch& search_at_amplifier() const;
  const rf::IntermodulationSearch& search_behind() const;
  rf::IntermodulationSearch search(const std::vector<double>& losses,
                                   const std::vector<std::size_t>& carriers) const;
  const rf::IntermodulationSearch& shared_search(SharedSearches::One& one,
                                                 const std::vector<double>& losses) const;
  std::vector<double> losses_behind() const;
  rf::PowerLevel at_receiver(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                             std::size_t carrier) const;
  bool filtered_behind() const;
  // Who distorts on the way of a carrier: visit(search, intercept at the node's amplifier, what is
  // lost of the products from there on). Stages without a filter between are one.
  template <class Visit>
  void for_each_distorting(const rf::Stage& own, const rf::Cascade& behind, std::size_t carrier,
                           const Visit& visit) const;
  // Who distorts on the way of a carrier that is weighed: visit(search, channel, intercept, what is
  // lost from the antenna's terminals to where it is referred to).
  template <class Visit>
  void for_each_distorting(const CarrierBudget& one, rf::Gain gain, const Visit& visit) const;
  rf::PowerLevel intermodulation_on(std::size_t carrier, const rf::Stage& own,
                                    const rf::Cascade& behind) const;
  void load_receivers(Budget& budget, const rf::Stage& own) const;
  rf::PowerLevel in_channel(const NodePhysics::Outlet& outlet, const rf::Stage& own,
                            std::size_t carrier) const;
  enum class Products { counted, left_out };
  Budget budget_at(rf::Gain gain, Products products) const;
  void weigh_carriers(Budget& budget, const rf::Stage& own, Products products) const;

  const NodePhysics* physics_;
  bool powered_ = true;
  std::vector<double> before_;         // dB that each carrier loses before the amplifier
  std::vector<double> after_;          // and between it and the node's output
  std::vector<std::size_t> channels_;  // carriers that are served, in the order of the channels
  SharedSearches* shared_ = nullptr;
  bool tries_ = false;  // carriers elsewhere
  // Made when first asked for; one thread at a time may use a TunedNode.
  mutable std::optional<rf::IntermodulationSearch> at_amplifier_;
  mutable std::optional<rf::IntermodulationSearch> behind_;
};

// The whole way at once.
Budget budget_of(const NodePhysics& physics, const plan::Settings& settings);

}  // namespace catwalk::rack
