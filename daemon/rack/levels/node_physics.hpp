// SPDX-License-Identifier: Apache-2.0
#pragma once
// What one node does to every carrier of a segment, from its antenna's terminals to the inputs of
// the receivers behind it: levels, noise, intermodulation, and what is left for the weakest.
//
// In three steps, so that a search over settings pays only for what changes:
//   NodePhysics  plan and segment: levels at the antenna, everything behind the node
//   TunedNode    a filter at a centre: what it takes off each carrier (tuned_node.hpp)
//   Budget       a gain (budget.hpp)
//
// The chain, in order:
//   antenna | lead | filter, amplifier (or the other way round) | feed | combiner | chain |
//   receiver
//
// Model, beside what the headers in rf/ say of each part:
//  - Every carrier is as strong as it ever gets, all at once: the worst case for overload and
//    intermodulation. The weakest level counts for the link margin.
//  - Distortion of the lead's amplifiers, the node's own and all that follows adds in phase, the
//    worst case. Behind the node all carriers are taken to keep the levels relative to each other
//    that they have when they leave it, so in the lead from its first amplifier on, and so behind a
//    combiner: a cable's loss differs little within a band.
//  - An amplifier in the lead meets everything that the antenna does: no filter stands before it.
//    It is taken to have a supply of its own, and to work on when the node's fails.
//  - Other antennas on the same combiner bring their noise, own transmitters' wide-band noise, and
//    their carriers' power to what follows the combiner. There the carriers of all antennas make
//    products together. What one carrier brings by several antennas adds in power: the phases of
//    two ways through the air change with every step that somebody takes, and the mean of them all
//    is what limits are made for. For the same reason products add in power that amplifiers of
//    different antennas make before the combiner: each is in phase with what its own carriers are.
//  - A carrier whose band overlaps another's counts there with the share of its own band that does:
//    its power is taken to be spread evenly over it.
//  - A carrier whose band overlaps a spurious response of a receiver counts in the channel
//    likewise, less what the receiver rejects there.
//  - Noise, interference and margins of a carrier are given at the antenna's terminals. What comes
//    in there as noise is kT0, or as much more as the plan has of man-made noise, at every antenna.
//  - What transmitters make in each other (transmitter_products.hpp) comes in as their carriers do.

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/levels/carrier_levels.hpp"
#include "daemon/rack/levels/spurious_responses.hpp"
#include "daemon/rack/levels/transmitter_products.hpp"
#include "daemon/rf/cascade.hpp"
#include "daemon/rf/intermodulation_search.hpp"

namespace catwalk::rack {

// Settings that another node of the rack is in; nothing: not known, and it counts as passive.
using SettingsOf = std::function<std::optional<plan::Settings>(const plan::NodeName&)>;

class OtherNode;
// Another node on a combiner, with what lies between its feed and that; never null.
using Neighbours =
    std::function<std::shared_ptr<const OtherNode>(const plan::Node&, const plan::Chain& arm)>;

class NodePhysics {
 public:
  // Keeps references: `plan`, `segment` and `node` have to live as long.
  NodePhysics(const plan::RackPlan& plan, const plan::Segment& segment, const plan::Node& node,
              const SettingsOf& others);
  NodePhysics(const plan::RackPlan& plan, const plan::Segment& segment, const plan::Node& node,
              const SettingsOf& others, const Neighbours& neighbours);
  // As if the chain ended, in nothing, with the node's feed and this arm of a branch.
  static NodePhysics to_combiner(const plan::RackPlan& plan, const plan::Segment& segment,
                                 const plan::Node& node, const plan::Chain& arm);

  const plan::Node& node() const { return *node_; }
  rf::Decibel external_noise(const plan::Carrier& carrier) const {
    return plan_->external_noise(carrier.frequency);
  }
  const std::vector<CarrierAtAntenna>& carriers() const { return carriers_; }
  // The antennas that share a combiner with this one; those on the way to one receiver.
  const std::vector<std::shared_ptr<const OtherNode>>& others() const { return others_; }
  const std::vector<std::shared_ptr<const OtherNode>>& others(const plan::Receiver& receiver) const;
  // Nodes on other branches of the receivers behind this one, in the settings that count of them:
  // where a share of the time is wanted, and only there.
  struct Beside {
    const plan::Node* node = nullptr;  // never null
    std::optional<plan::Settings> settings;
  };
  const std::vector<Beside>& beside() const { return beside_; }
  // Whose carrier stands at this frequency; the frequency itself if nobody's does.
  std::string name_at(rf::Frequency frequency) const;
  // Who makes a product: one name for each tone, that of a doubled one once.
  std::vector<std::string> makers_of(const rf::Product& product) const;
  // "twice A minus B", "A plus B minus C".
  std::string words_for(const rf::Product& product) const;

  // Whether an amplifier on the way has a fifth-order intercept.
  bool makes_fifth_order() const;
  // Those that have none.
  std::vector<std::string> without_fifth_order() const;

  // Does anything need a number? False: no level is known and nothing behind the node.
  bool has_numbers() const;

  // One that transmitters make in each other, at this antenna's terminals.
  struct MadeOutside {
    const plan::Carrier* own = nullptr;  // twice; the one that radiates it
    const plan::Carrier* other = nullptr;
    rf::Frequency at;  // its centre
    rf::PowerLevel level;
    double share = 0.0;  // of its power that lies in the channel, and that `level` tells
  };
  // Those in the channel of a carrier, strongest first.
  std::vector<MadeOutside> made_outside(const plan::Carrier& channel) const;

 private:
  friend class TunedNode;
  friend class Distortion;

  // What one carrier finds before the node.
  struct Lead {
    rf::Decibel gain;                       // of all of it; a lead without amplifiers loses
    rf::Decibel noise_figure;               // of it alone
    std::vector<rf::Decibel> to_amplifier;  // to the input of each of lead_amplifiers_
    rf::Intercepts intercepts;              // at the input of the first of these
  };
  // What one carrier finds behind the node, on the way to one receiver.
  struct Behind {
    rf::Decibel gain;                       // to the receiver's input
    std::vector<rf::Decibel> to_amplifier;  // to the input of each of Outlet::amplifiers
    std::vector<double> foreign;    // mW that other antennas bring there; the receiver's input last
    double foreign_noise = 0.0;     // mW/Hz of own transmitters' noise by these, at that input
    double foreign_products = 0.0;  // mW of what transmitters make in each other, likewise
    double made_by_others = 0.0;    // mW of what amplifiers before the combiner make, likewise
  };
  // A receiver that hears through this node.
  struct Outlet {
    const plan::Receiver* receiver = nullptr;  // null: nothing is known behind the node
    std::vector<const plan::RackAmplifier*> amplifiers = {};
    std::vector<Behind> behind = {};       // for each carrier
    std::vector<std::size_t> served = {};  // carriers that this receiver must hear
    std::vector<int> antennas = {};        // branches by which the receiver hears each of `served`
    std::vector<rf::Cascade> cascades = {};  // of what is behind the node, for each of `served`
    // Where several antennas come together in a combiner:
    bool combined = false;
    std::vector<std::shared_ptr<const OtherNode>> others = {};
    std::vector<double> brought = {};           // mW by the others at its inputs, of each carrier
    std::vector<rf::Decibel> to_combiner = {};  // from the node's output, of each carrier
    std::vector<rf::Cascade> feeds = {};        // to its input, for each of `served`
    std::vector<rf::Cascade> rests = {};        // from there to the receiver, likewise
    std::vector<std::size_t> mixing = {};       // as mixing_, by whatever antenna they come
    std::vector<Stray> strays = {};             // in the order of `served`
    // Of the power that each carrier has at the receiver's input, how much it counts in the channel
    // of each of `served` for what a strong signal beside it does; empty: nobody said.
    std::vector<std::vector<double>> blocking = {};
  };

  // A carrier that lies in another's band, with the share of its power that does.
  struct Intruder {
    std::size_t in = 0;  // of carriers_, rising
    std::size_t who = 0;
    double share = 0.0;  // above 0, at most 1
  };

  // visit(name, whether it has a fifth-order intercept): the node's own first, then those of the
  // lead, then those behind; what receivers share comes for each.
  template <class Visit>
  void for_each_amplifier(const Visit& visit) const;
  struct Walk;  // of one carrier behind the node
  // mW in the channel of this carrier that transmitters make in each other, where each of them is
  // as strong as that: `strongest(carrier)`.
  template <class Strongest>
  double products_in(std::size_t channel, const Strongest& strongest) const;
  double transmitter_products_in(std::size_t channel) const;  // by this antenna
  NodePhysics(const plan::RackPlan& plan, const plan::Segment& segment, const plan::Node& node);
  void walk_lead();
  void find_intruders();
  void find_blockers(Outlet& outlet) const;
  std::vector<std::size_t> of_known_level() const;
  std::vector<std::size_t> of_known_level(const Outlet& outlet) const;  // by any antenna
  // Those of them that are not far from every channel with whatever others.
  std::vector<std::size_t> mixing_of(std::vector<std::size_t> known) const;
  std::vector<std::shared_ptr<const OtherNode>> on(const plan::Branch& branch,
                                                   const Neighbours& neighbours);
  void add_outlet(const plan::Receiver& receiver, const plan::Branch& branch,
                  const Neighbours& neighbours);
  void count_antennas(Outlet& outlet, const plan::Branch& own, const SettingsOf& others);
  void add_node_alone(const plan::Chain& feed, const plan::Chain& arm);

  const plan::RackPlan* plan_;
  const plan::Segment* segment_;
  const plan::Node* node_;
  std::vector<CarrierAtAntenna> carriers_;
  std::vector<const plan::RackAmplifier*> lead_amplifiers_;
  std::vector<Lead> leads_;  // of each carrier
  std::vector<Outlet> outlets_;
  std::vector<Intruder> intruders_;
  // Carriers of known level without which no product falls into a channel that is served: the
  // others need no place in a search, and may lie gigahertz away.
  std::vector<std::size_t> mixing_;
  std::vector<std::shared_ptr<const OtherNode>> others_;  // of all outlets, each once
  std::vector<Beside> beside_;
  double transmitter_noise_ = 0.0;  // mW/Hz at this antenna
  std::vector<TransmitterProduct> transmitter_products_;
};

}  // namespace catwalk::rack
