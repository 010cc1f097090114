// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/assumed.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

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
  for (const auto& arriving : physics.carriers())
    if (arriving.strongest && arriving.strongest_from != rf::Reception::From::measurement)
      carriers.push_back(arriving.carrier);
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

// Of those that come nearer than their model holds, whose strongest was taken from this instead.
// Nothing: none does.
std::string of_nearness(const NodePhysics& physics, rf::Reception::From from,
                        const std::string& than, const std::string& as) {
  std::vector<std::string> near;
  Decibel most;
  for (const auto& arriving : physics.carriers()) {
    if (!arriving.strongest || arriving.strongest_from != from) continue;
    near.push_back(arriving.carrier->name.text);
    most = std::max(most, *arriving.carrier->erp - *arriving.strongest);
  }
  if (near.empty()) return "";
  const bool one = near.size() == 1;
  return listed(near) + (one ? " comes" : " come") + " nearer to " + physics.node().name.text +
         " than " + than + ", and " + (one ? "counts" : "count") + ' ' + as +
         ". A dipole with its e.r.p. sends no more than " + in_words(most) +
         " over that; what couples so near only a measured isolation says.";
}

std::vector<std::string> of_nearness(const plan::RackPlan& plan, const NodePhysics& physics) {
  using From = rf::Reception::From;
  std::vector<std::string> sentences{of_nearness(
      physics, From::near_field_floor, "λ/2π, where the far field begins", "as if it were there")};
  if (std::holds_alternative<rf::Indoor>(plan.propagation))
    sentences.push_back(of_nearness(
        physics, From::free_space, "the 1 m from which on ITU-R P.1238 holds", "as in free space"));
  return sentences;
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

// "11.1 dB", "10.1 to 11.1 dB"; of what is rounded alike one.
std::string from_to(const std::vector<Decibel>& all) {
  const auto [least, most] = std::ranges::minmax_element(all);
  const auto first = in_words(*least);
  const auto last = in_words(*most);
  return first == last ? last : first.substr(0, first.find(' ')) + " to " + last;
}

// By how much the noise of each carrier of the budget rises with so much at its antenna.
template <class Noise>
std::vector<Decibel> rises(const Budget& budget, const Noise& external) {
  std::vector<Decibel> all;
  for (const auto& served : budget.carriers)
    all.push_back(
        rf::with_external_noise(served.noise_figure, external(served.carrier->frequency)) -
        served.noise_figure);
  return all;
}

std::string of_place(rf::NoisePlace place, const plan::RackPlan& plan, const Budget& budget) {
  std::vector<Decibel> over;
  bool extrapolated = false;
  for (const auto& served : budget.carriers) {
    over.push_back(rf::plain::man_made_noise(place, served.carrier->frequency));
    extrapolated = extrapolated || served.carrier->frequency > rf::stated_up_to(place);
  }
  const auto raised =
      rises(budget, [&](rf::Frequency frequency) { return plan.external_noise(frequency); });
  return "Man-made noise of the kind \"" + std::string{name_of(place)} +
         "\" comes in by the antenna (rack file, ITU-R P.372" +
         (place == rf::NoisePlace::city ? ", above 129 MHz P.372-8" : "") + "): " + from_to(over) +
         " over kT0B here, which raises the noise by " + from_to(raised) +
         ". That is the median; " + "in a tenth of the hours and places it is some 10 dB more." +
         (extrapolated ? " Above " + in_words(rf::stated_up_to(place)) + " it is extrapolated."
                       : "");
}

std::string of_noise(const plan::RackPlan& plan, const Budget& budget) {
  if (!plan.man_made_noise)
    return "No man-made noise is counted at the antenna. As in a city (ITU-R P.372-8) it would "
           "raise the noise by " +
           from_to(rises(budget,
                         [](rf::Frequency frequency) {
                           return rf::plain::man_made_noise(rf::NoisePlace::city, frequency);
                         })) +
           " here; the rack file may say so (man_made_noise).";
  if (const auto* place = std::get_if<rf::NoisePlace>(&*plan.man_made_noise))
    return of_place(*place, plan, budget);
  const auto raised =
      rises(budget, [&](rf::Frequency frequency) { return plan.external_noise(frequency); });
  return "Noise of " + in_words(std::get<Decibel>(*plan.man_made_noise)) +
         " over kT0B comes in by the antenna, as it was measured (rack file), and raises the noise "
         "by " +
         from_to(raised) + ".";
}

// Empty: all say it.
std::string of_modulation(const NodePhysics& physics) {
  const bool all_said = std::ranges::all_of(physics.carriers(), [](const auto& at_antenna) {
    return at_antenna.carrier->modulation.has_value();
  });
  if (all_said) return "";
  return "Carriers of which no file says how they are modulated are taken for FM: products of psk, "
         "qam and ofdm are wider, and with such a carrier twice up to 3.0 dB stronger "
         "(modulation in the show file).";
}

// Of transmitters that may mix, which the files let be counted.
std::string of_transmitters(const NodePhysics& physics) {
  const auto& carriers = physics.carriers();
  const bool any = std::ranges::any_of(
      carriers, [](const CarrierAtAntenna& at_antenna) { return may_mix(*at_antenna.carrier); });
  if (!any)
    return "What transmitters that stand together make in each other is not counted: no carrier "
           "has a place, or an isolation from another. Two alike that are 1 m apart radiate "
           "products some 34 dB below themselves at 600 MHz.";
  std::string sentence =
      "Twice a carrier minus another, made in the transmitter of the first, is counted of carriers "
      "with places or isolations from each other";
  std::vector<std::string> left_out;
  for (const auto& at_antenna : carriers)
    if (at_antenna.carrier->use == plan::CarrierUse::transmit && !may_mix(*at_antenna.carrier))
      left_out.push_back(at_antenna.carrier->name.text);
  if (!left_out.empty()) sentence += ", not of " + listed(left_out);
  const bool assumed = std::ranges::any_of(carriers, [](const CarrierAtAntenna& at_antenna) {
    return may_mix(*at_antenna.carrier) && !at_antenna.carrier->conversion_loss;
  });
  if (assumed)
    sentence += "; where a file has no conversion loss it is taken to be " +
                in_words(usual_conversion_loss) +
                ", 5 to 20 dB without an isolator (Report ITU-R SM.2021)";
  return sentence + ".";
}

// Nothing where all amplifiers on the way have an intercept.
std::string of_fifth_order(const NodePhysics& physics) {
  const auto without = physics.without_fifth_order();
  if (without.empty()) return "";
  return "Of " + listed(without) +
         " no fifth-order intercept is given, so what is made there of three times one carrier "
         "minus twice another is not counted: 10 dB below compression it lies 24 dB below products "
         "of the third order, of an amplifier whose intercepts stand 10 and 6 dB over its "
         "compression point.";
}

}  // namespace

std::vector<std::string> assumptions(const plan::RackPlan& plan, const NodePhysics& physics,
                                     const Budget& budget) {
  std::vector<std::string> sentences;
  if (const auto carriers = by_distance(physics); !carriers.empty())
    sentences.push_back(of_propagation(plan, physics.node(), carriers));
  for (auto& sentence : of_nearness(plan, physics))
    if (!sentence.empty()) sentences.push_back(std::move(sentence));
  if (physics.node().feed) sentences.push_back(of_fading(plan.limits));
  if (!budget.carriers.empty()) sentences.push_back(of_noise(plan, budget));
  if (!budget.carriers.empty()) {
    sentences.push_back(of_transmitters(physics));
    if (auto sentence = of_modulation(physics); !sentence.empty())
      sentences.push_back(std::move(sentence));
    if (auto sentence = of_fifth_order(physics); !sentence.empty())
      sentences.push_back(std::move(sentence));
  }
  return sentences;
}

}  // namespace catwalk::rack
