// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/assumed.hpp"

#include <algorithm>
#include <cmath>

#include "daemon/base/overloaded.hpp"
#include "daemon/rack/rules/link_words.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

using rf::Decibel;

std::string in_metres(double metres) { return std::to_string(std::llround(metres)); }

// "96 m", "81 to 112 m": where the last maximum lies, of these carriers.
std::string breakpoints(const plan::RackPlan& plan, const plan::Node& node,
                        const std::vector<const plan::Carrier*>& carriers) {
  std::vector<double> metres;
  for (const auto* carrier : carriers)
    if (const auto way = propagation_between(plan, *carrier, node);
        std::holds_alternative<rf::TwoRay>(way))
      metres.push_back(rf::breakpoint(carrier->frequency, std::get<rf::TwoRay>(way)).value());
  const auto [least, most] = std::ranges::minmax(metres);
  const auto first = in_metres(least);
  const auto last = in_metres(most);
  return (first == last ? first : first + " to " + last) + " m";
}

// Carriers whose level follows from a distance.
std::vector<const plan::Carrier*> by_distance(const NodePhysics& physics) {
  std::vector<const plan::Carrier*> carriers;
  for (const auto& [carrier, served, strongest, weakest] : physics.carriers())
    if (strongest && !carrier->isolations.contains(physics.node().name))
      carriers.push_back(carrier);
  return carriers;
}

std::string of_propagation(const plan::RackPlan& plan, const plan::Node& node,
                           const std::vector<const plan::Carrier*>& carriers) {
  return std::visit(
      Overloaded{
          [](const rf::FreeSpace&) -> std::string {
            return "Levels by distance are those of free space (ITU-R P.525). A deck, water or a "
                   "floor that reflects could make the strongest 6.0 dB stronger, and far out the "
                   "weakest falls twice as fast; the rack file may say so (propagation).";
          },
          [&](const rf::TwoRay& over) {
            return "Levels by distance are over a surface that reflects (propagation in the rack "
                   "file, two rays): at the strongest " +
                   in_words(Decibel::of(20.0 * std::log10(1.0 + over.reflection))) +
                   " over free space, at the weakest free space up to 4·h1·h2/λ, " +
                   breakpoints(plan, node, carriers) +
                   " here, and the two rays beyond. Nulls before that want fading margin.";
          },
          [](const rf::Indoor& among) {
            return "Levels by distance are indoors (propagation in the rack file, ITU-R P.1238): "
                   "at the weakest they fall by " +
                   in_words(among.loss_per_decade) +
                   " for each tenfold distance beyond 1 m, at the strongest nothing stands "
                   "between.";
          }},
      plan.propagation);
}

std::string of_fading(const plan::Limits& limits) {
  const auto held = [&](int antennas) {
    return availability_in_words(rf::plain::availability(limits.link_margin, antennas), antennas);
  };
  if (!limits.link_availability)
    return "Fading beyond the wanted link margin is not counted: " + in_words(limits.link_margin) +
           " hold for " + held(1) + " and for " + held(2) +
           ", if it fades by Rayleigh and both antennas hear as much.";
  return "The wanted margin is " + in_words(limits.link_margin_at(1)) +
         " at a receiver with one antenna and " + in_words(limits.link_margin_at(2)) +
         " with two: of " + in_words(limits.link_margin) + " and what " +
         availability_in_words(*limits.link_availability, 1) +
         " or by two takes (limits in the rack file, Rayleigh fading), the stricter. Two are taken "
         "to hear as much and to fade apart; where one hears 10 dB less, 5 dB more are needed.";
}

}  // namespace

std::vector<std::string> assumptions(const plan::RackPlan& plan, const NodePhysics& physics) {
  std::vector<std::string> sentences;
  if (const auto carriers = by_distance(physics); !carriers.empty())
    sentences.push_back(of_propagation(plan, physics.node(), carriers));
  if (physics.node().feed) sentences.push_back(of_fading(plan.limits));
  return sentences;
}

}  // namespace catwalk::rack
