// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/link_words.hpp"

#include <cstdio>
#include <string_view>

#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {

std::string availability_in_words(double availability, int antennas) {
  char share[32];
  std::snprintf(share, sizeof share, "%.5g", 100.0 * availability);
  // Nothing holds always, whatever the digits round to.
  const bool always = std::string_view{share} == "100";
  return (always ? std::string{"more than 99.999"} : std::string{share}) + " % of the time by " +
         (antennas == 1 ? "one antenna" : "two");
}

std::string in_words(const plan::SpuriousResponse& response) {
  const auto offset = (response.offset > rf::Frequency{} ? "+" : "") + in_words(response.offset);
  return response.name.empty() ? offset : response.name + " (" + offset + ')';
}

std::string apart_in_words(const NodePhysics::MadeOutside& made, const plan::Carrier& channel,
                           rf::Decibel missing) {
  const auto& own = made.own->name.text;
  return own + " makes twice its own carrier minus " + made.other->name.text + " at " +
         in_words(made.at) + ", into " + channel.name.text + ": both would have to be " +
         in_words(missing) +
         " more apart from each other, with an isolator in the transmitter of " + own +
         " or further away; or one of them on another frequency.";
}

std::string apart_in_words(const TunedNode::Brought& made, const plan::Carrier& channel,
                           rf::Decibel missing) {
  const auto& by = made.by->name.text;
  return "What " + by + " makes of its carriers comes into " + channel.name.text +
         " by the combiner and would have to be " + in_words(missing) + " less: " +
         (made.powered ? "less gain at " + by + ", or its filter further from them."
                       : "an amplifier in its lead or feed meets them too strong.");
}

const plan::Carrier* loudest_blocker(const NodePhysics& physics, const CarrierBudget& served) {
  const plan::Carrier* loudest = nullptr;
  auto most = rf::no_power();
  for (const auto& other : physics.carriers()) {
    if (other.carrier == served.carrier || !other.strongest) continue;
    if (other.carrier->band().overlaps(served.carrier->band())) continue;  // a co-channel one
    const auto offset = other.carrier->frequency - served.carrier->frequency;
    const auto rejection =
        served.receiver->input->blocking_rejection(offset < rf::Frequency{} ? -offset : offset);
    if (!rejection || *other.strongest - *rejection <= most) continue;
    most = *other.strongest - *rejection;
    loudest = other.carrier;
  }
  return loudest;
}

namespace {

// Empty where the limit of the link margin asks for as much.
std::string wanted_in_words(const plan::Limits& limits, const CarrierBudget& served) {
  const auto wanted = served.margin_wanted(limits);
  if (wanted == limits.link_margin) return "";
  return "; " + in_words(wanted) + " over that are wanted, for " +
         availability_in_words(*limits.link_availability, served.antennas);
}

void name_strays(Finding& finding, const TunedNode& tuned, rf::Gain gain,
                 const CarrierBudget& served) {
  if (served.spurious_response == rf::no_power()) return;
  finding.numbers.push_back(dbm("spurious response", served.spurious_response));
  if (served.most_of_interference() != Interference::spurious_response) return;
  const auto worst = tuned.strays(served, gain).front();
  finding.concerns.push_back(worst.carrier->name.text);
  finding.sentence += "; most of the interference is " + worst.carrier->name.text +
                      ", which receiver " + served.receiver->name.text + " hears at its " +
                      (worst.response->name.empty() ? "spurious response " : "") +
                      in_words(*worst.response);
}

void name_transmitters(Finding& finding, const NodePhysics& physics, const CarrierBudget& served) {
  if (served.transmitter_products == rf::no_power()) return;
  finding.numbers.push_back(dbm("transmitter products", served.transmitter_products));
  if (served.most_of_interference() != Interference::transmitter_products) return;
  const auto made = physics.made_outside(*served.carrier);
  if (made.empty()) return;  // by another antenna alone
  const auto& own = made.front().own->name.text;
  finding.concerns.push_back(own);
  finding.concerns.push_back(made.front().other->name.text);
  finding.sentence += "; most of the interference is made in the transmitter of " + own +
                      ", twice its carrier minus " + made.front().other->name.text;
}

void name_brought(Finding& finding, const TunedNode& tuned, rf::Gain gain,
                  const CarrierBudget& served) {
  if (served.brought_products == rf::no_power()) return;
  finding.numbers.push_back(dbm("products of other antennas", served.brought_products));
  if (served.most_of_interference() != Interference::brought_products) return;
  const auto made = tuned.brought(served, gain, 1);
  if (made.empty()) return;
  const auto& [by, powered, product] = made.front();
  finding.concerns.push_back(by->name.text);
  finding.sentence += "; most of the interference is made by amplifiers at " + by->name.text +
                      ", before the combiner: " + tuned.physics().words_for(product);
}

}  // namespace

void end_link_sentence(Finding& finding, const plan::Limits& limits, const TunedNode& tuned,
                       rf::Gain gain, const CarrierBudget& served) {
  name_strays(finding, tuned, gain, served);
  name_transmitters(finding, tuned.physics(), served);
  name_brought(finding, tuned, gain, served);
  finding.sentence += wanted_in_words(limits, served) + ".";
}

}  // namespace catwalk::rack
