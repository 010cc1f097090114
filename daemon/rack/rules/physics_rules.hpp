// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where the numbers of a budget pass the limits of the plan: amplifier-overload, chain-gain,
// receiver-overload, link-margin, intermodulation-on-carrier, near-compression.

#include <optional>
#include <span>
#include <vector>

#include "daemon/plan/limits.hpp"
#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// A limit that is passed, before anybody words it; a search looks at thousands of these.
struct Breach {
  Rule rule = Rule::amplifier_overload;
  Severity severity = Severity::caution;
  std::size_t which = 0;  // of Budget::amplifiers, receivers or carriers, as the rule says
  rf::Decibel by;         // how far beyond the limit, > 0
  friend bool operator==(const Breach&, const Breach&) = default;
};

// intermodulation-on-carrier: products come nearer to the noise than the plan allows, or nearer to
// the weakest signal than the receiver's protection ratio. A caution where that costs what is
// wanted: the link margin or the protection is missed, or no margin is known. Else a note.
// `which` is 0. Nothing: they do neither.
std::optional<Breach> products_on(const plan::Limits& limits, const CarrierBudget& served);

// near-compression: nearer than this to an amplifier's 1 dB compression point its products are
// stronger than those of the third order alone (rf/intermodulation.hpp), nobody knows by how much.
// A caution where products come within as much of counting, or count as a note. Source of the
// figure: common practice, no source.
constexpr auto third_order_alone = rf::Decibel::of(10.0);

// In the order of the rules above. Of chain-gain one for each receiver: the carrier that is
// furthest out.
std::vector<Breach> breaches(const plan::Limits& limits, const Budget& budget);

// How many of these there would be at `gain`, of the loads and chain gains alone.
Count count_loads(const plan::Limits& limits, const TunedNode::Loads& loads, rf::Gain gain);
Count count(std::span<const Breach> breaches);
Count count(std::span<const Finding> findings);

// The same told to people. `tuned` and `gain` are what the budget was made of.
std::vector<Finding> judge(const plan::RackPlan& plan, const plan::Node& node,
                           const TunedNode& tuned, rf::Gain gain, const Budget& budget);

// The carrier, and the receiver if one is known: whom such a finding concerns.
std::vector<std::string> names_in(const CarrierBudget& served);

}  // namespace catwalk::rack
