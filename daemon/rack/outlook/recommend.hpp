// SPDX-License-Identifier: Apache-2.0
#pragma once
// "What should I set?": over all gain steps, filters and centre steps of a node, the settings that
// leave the carrier that is worst off with the most margin and raise no finding; and how much room
// there is around them.

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/rack/outlook/settings_search.hpp"
#include "daemon/rack/rules/rules.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

enum class LimitedBy {
  noise,  // of the chain itself; more gain is not there or would not help
  intermodulation,
  transmitter_noise,  // of an own transmitter, beside its carrier
  blocking,
  co_channel,            // another carrier in the channel of the one that is worst off
  spurious_response,     // another one where its receiver hears beside the channel
  transmitter_products,  // what transmitters make in each other
  brought_products,      // what amplifiers at a combiner's other antennas make before it
  amplifier_overload,    // more gain would help, and this says no
  receiver_overload,
  chain_gain,
  nothing_known,  // no carrier that this node serves has a level
};
constexpr auto words_of(LimitedBy) {
  using enum LimitedBy;
  return WordTable<LimitedBy, 12>{{{"noise", noise},
                                   {"intermodulation", intermodulation},
                                   {"transmitter noise", transmitter_noise},
                                   {"blocking", blocking},
                                   {"co-channel", co_channel},
                                   {"spurious response", spurious_response},
                                   {"transmitter products", transmitter_products},
                                   {"products of other antennas", brought_products},
                                   {"amplifier overload", amplifier_overload},
                                   {"receiver overload", receiver_overload},
                                   {"chain gain", chain_gain},
                                   {"nothing known", nothing_known}}};
}
using catwalk::name_of;

struct Recommendation {
  plan::NodeName node;
  plan::Settings settings;                 // power on; the label stays
  Verdict verdict;                         // of check() on these settings, if-power-fails included
  bool clean = false;                      // no caution, no refusal
  std::optional<rf::Decibel> margin = {};  // of the carrier that is worst off, where known
  plan::CarrierName worst = {};            // empty: the node serves none
  LimitedBy limited_by = LimitedBy::nothing_known;
  Room room = {};                        // all zero if not clean
  std::vector<std::string> advice = {};  // what to change in the plan, how far (advice.hpp)
};

// A node that serves no carrier of the segment is left as it is. `base` gives what is not
// recommended: the label. What settings cannot mend (published bands) does not decide between
// them. If nothing is clean: the fewest refusals, then the fewest cautions.
// Takes up to some hundred milliseconds.
Recommendation recommend(const Surroundings& surroundings, const plan::Node& node,
                         const plan::Settings& base,
                         const StillWanted& still_wanted = always_wanted);

// Runs work(0) … work(count − 1), in any order, on as many threads as it likes; returns when all
// are done.
using ForEach =
    std::function<void(std::size_t count, const std::function<void(std::size_t)>& work)>;
void one_after_the_other(std::size_t count, const std::function<void(std::size_t)>& work);

// All nodes of the rack for a segment, in the plan's order. What nodes bring to a shared combiner
// is counted with the settings recommended for them; branches of a receiver are each given all its
// carriers. `base`: as above; nothing for a node that was never read. The verdicts are those with
// all recommendations in force.
std::vector<Recommendation> recommend_segment(const plan::RackPlan& plan,
                                              const plan::Segment& segment, const SettingsOf& base,
                                              const ForEach& for_each = one_after_the_other,
                                              const StillWanted& still_wanted = always_wanted);

}  // namespace catwalk::rack
