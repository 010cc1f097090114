// SPDX-License-Identifier: Apache-2.0
#pragma once
// What becomes of the carriers of a segment in one node and behind it (node_physics.hpp).

#include <optional>
#include <string>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/plan/rack_plan.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::rack {

// All carriers together in one amplifier of the chain.
struct AmplifierLoad {
  std::string amplifier;  // the node's name, or that of an amplifier of the chain
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
enum class Interference {
  intermodulation,
  transmitter_noise,
  blocking,
  co_channel,
  spurious_response,
  transmitter_products,
  brought_products
};
constexpr auto words_of(Interference) {
  using enum Interference;
  return WordTable<Interference, 7>{{{"intermodulation", intermodulation},
                                     {"transmitter noise", transmitter_noise},
                                     {"blocking", blocking},
                                     {"co-channel", co_channel},
                                     {"spurious response", spurious_response},
                                     {"transmitter products", transmitter_products},
                                     {"products of other antennas", brought_products}}};
}
using catwalk::name_of;

// One carrier that has to be heard, at one receiver. Levels at the antenna's terminals.
struct CarrierBudget {
  const plan::Carrier* carrier = nullptr;
  const plan::Receiver* receiver = nullptr;  // null: what is behind the node is not known
  rf::Decibel chain_gain = {};               // from the antenna's terminals to the receiver's input
  rf::Decibel noise_figure = {};    // of all, the receiver counted where its figures are known
  rf::Decibel external_noise = {};  // over kT0B at the antenna; 0 dB: nothing but kT0 is counted
  rf::PowerLevel noise = {};        // of both, in the carrier's bandwidth
  rf::PowerLevel intermodulation = rf::no_power();  // of all stages, in the carrier's band
  rf::PowerLevel transmitter_noise = rf::no_power();
  rf::PowerLevel blocking = rf::no_power();    // as an interferer of equal effect
  rf::PowerLevel co_channel = rf::no_power();  // of other carriers, what lies in this one's band
  // Of carriers where the receiver hears beside the channel, as interferers of equal effect.
  rf::PowerLevel spurious_response = rf::no_power();
  rf::PowerLevel transmitter_products = rf::no_power();  // that transmitters radiate into it
  // That amplifiers at a combiner's other antennas make before it, as if they came by this one.
  rf::PowerLevel brought_products = rf::no_power();
  rf::Decibel desensitisation = {};  // by these seven together
  std::optional<rf::PowerLevel> weakest = {};
  // Where the receiver would just do: over noise and interference together as far as its
  // sensitivity stands over its own noise, and over interference alone by its protection ratio.
  // The higher of the two: both are asked, and neither knows the other.
  std::optional<rf::PowerLevel> needed = {};
  // By how many branches the receiver hears it, this one counted (other_branch.hpp).
  int antennas = 1;
  bool protection_decides = false;      // it is the second of these
  rf::Decibel interference_costs = {};  // of the margin; where that is not known, desensitisation
  // Of the weakest over what is needed; negative: not heard. Absent: one of them is not known.
  std::optional<rf::Decibel> margin() const;
  rf::Decibel margin_wanted(const plan::Limits& limits) const {
    return limits.link_margin_at(antennas);
  }
  // What follows from noise and interference: desensitisation and all below it but the weakest.
  // Precondition: carrier and receiver are set as they are to stay.
  void weigh_interference();
  // As if products had this level instead.
  CarrierBudget with_intermodulation(rf::PowerLevel level) const;
  // To find who is worst off: the margin; where none is known, the noise that is added, negative.
  rf::Decibel well_off() const { return margin().value_or(-(noise_figure + desensitisation)); }
  Interference most_of_interference() const;
  rf::PowerLevel of(Interference kind) const;
  rf::PowerLevel interference() const;  // of all kinds together
};

struct Budget {
  // The node's own first, unless it is passive; then those of the lead, then those behind.
  std::vector<AmplifierLoad> amplifiers;
  std::vector<ReceiverLoad> receivers;  // those with a carrier of known level
  std::vector<CarrierBudget> carriers;  // receivers in the plan's order, carriers in the segment's
};

}  // namespace catwalk::rack
