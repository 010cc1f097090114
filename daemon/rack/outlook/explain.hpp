// SPDX-License-Identifier: Apache-2.0
#pragma once
// The level budget of one carrier through one node to one receiver, stage by stage, as a technician
// would write it on paper.

#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rack/values/carriers_at.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// What holds at the output of one stage, at the carrier's frequency.
struct ExplainedStage {
  // "antenna", "filter slide-40", "truss-left", "RG-213, 30 m", "receiver vocals"
  std::string name;
  std::string label;  // the same where there is little room: "slide-40", "truss-left", "vocals"
  rf::Decibel gain;
  rf::Decibel noise_figure;
  rf::Decibel gain_so_far;                       // from the antenna's terminals
  rf::Decibel noise_figure_so_far;               // referred there
  rf::PowerLevel noise;                          // in the carrier's bandwidth
  std::optional<rf::PowerLevel> strongest = {};  // of this carrier
  std::optional<rf::PowerLevel> weakest = {};
  // Together, each at its strongest, those among them that other antennas bring to a combiner.
  rf::PowerLevel all_carriers = rf::no_power();
  rf::PowerLevel other_antennas = rf::no_power();  // what these bring of it; none before a combiner
  std::optional<rf::PowerLevel> output_ip3 = {};   // of the stage
  std::optional<rf::PowerLevel> output_p1db = {};
  // Room over all carriers: to the stage's compression point; at a receiver to its overload, over
  // the strongest carrier. As the verdict has it.
  std::optional<rf::Decibel> margin = {};
};

struct ExplainedProduct {
  // "a", "b", "c": a plus b minus c; or "a", "b": twice "a" minus "b", of the fifth order three
  // times "a" minus twice "b".
  std::vector<std::string> carriers;
  rf::Frequency at;      // its centre
  rf::PowerLevel level;  // of all stages together, at the antenna's terminals, in the channel
  double share = 1.0;    // of all its power, that lies there
  rf::Order order = rf::Order::third;
  std::string antenna = {};  // before whose combiner it is made; empty: at this one, or behind it
};

// The strongest, at most so many, of those behind one.intermodulation.
std::vector<ExplainedProduct> products_of(const TunedNode& tuned, const CarrierBudget& served,
                                          rf::Gain gain, std::size_t most);

// A carrier at a spurious response of the receiver, as an interferer of equal effect in the
// channel.
struct ExplainedStray {
  std::string response;  // its name; empty: it has none
  rf::Frequency offset;
  std::string carrier;
  rf::PowerLevel level;  // at the antenna's terminals
};

// Twice `own` less `other`, made in the transmitter of `own` and radiated into the channel.
struct ExplainedTransmitterProduct {
  std::string own;
  std::string other;
  rf::Frequency at;      // its centre
  rf::PowerLevel level;  // at the antenna's terminals, in the channel
  double share = 1.0;    // of all its power, that lies there
};

struct Explanation {
  plan::CarrierName carrier;
  plan::ReceiverName receiver;  // empty: what is behind the node is not known
  rf::Frequency frequency;
  rf::Frequency bandwidth;
  std::vector<ExplainedStage> stages;      // the antenna first
  CarrierBudget budget;                    // its pointers live as long as plan and segment
  rf::Decibel margin_wanted;               // by the plan's limits, at such a receiver
  std::vector<ExplainedProduct> products;  // the strongest few on this carrier
  std::vector<ExplainedStray> strays;      // likewise
  std::vector<ExplainedTransmitterProduct> transmitter_products;  // likewise, by this antenna
  std::vector<ExplainedProduct> brought;  // likewise, made at a combiner's other antennas
};

struct Explained {
  CarrierNames carriers;             // that come through the node: any of them can be asked for
  std::vector<Explanation> chains;   // for each receiver behind the node
  std::vector<std::string> unknown;  // what could not be counted and why, a sentence each
  std::vector<std::string> assumed;  // what the levels rest on, likewise (assumed.hpp)
};

// `carrier` empty: for each receiver the carrier that is worst off. Precondition: the datasheet has
// the settings' filter, and it reaches the centre.
Explained explain(const plan::RackPlan& plan, const plan::Segment& segment, const plan::Node& node,
                  const plan::Settings& settings, const SettingsOf& others,
                  const plan::CarrierName& carrier);

}  // namespace catwalk::rack
