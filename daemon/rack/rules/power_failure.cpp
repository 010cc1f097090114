// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/power_failure.hpp"

#include <algorithm>
#include <set>

#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rack/rules/physics_rules.hpp"
#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

using rf::Decibel;

// "3.0 dB less", "3.0 dB more"
std::string difference(Decibel by) {
  return in_words(by < Decibel{} ? -by : by) + (by < Decibel{} ? " less" : " more");
}

// What rounds to it is told.
constexpr auto least_lost = Decibel::of(0.05);
// An alarm is read at a glance.
constexpr std::size_t most_receivers_told = 4;

struct HeardLess {
  const CarrierBudget* left = nullptr;  // without power
  Decibel by;
};

// Of each receiver the carrier that is left with the least, if it has less than before.
std::vector<HeardLess> heard_less(const Budget& now, const Budget& passive) {
  std::vector<HeardLess> worst;
  for (std::size_t i = 0; i < passive.carriers.size(); ++i) {
    const auto& left = passive.carriers[i];
    const HeardLess one{&left, now.carriers[i].well_off() - left.well_off()};
    if (one.by < least_lost) continue;
    const auto known = std::ranges::find(
        worst, left.receiver, [](const HeardLess& other) { return other.left->receiver; });
    if (known == worst.end())
      worst.push_back(one);
    else if (left.well_off() < known->left->well_off())
      *known = one;
  }
  std::ranges::stable_sort(worst, std::ranges::greater{}, &HeardLess::by);
  return worst;
}

std::string lost_words(const HeardLess& one) {
  auto text = one.left->receiver->name.text + " hears " + one.left->carrier->name.text + ' ' +
              in_words(one.by) + " less by it";
  if (const auto margin = one.left->margin())
    text += *margin < Decibel{} ? ", " + in_words(-*margin) + " too little"
                                : ", with " + in_words(*margin) + " of margin left";
  return text;
}

}  // namespace

bool is_heard(const Budget& budget) {
  return !budget.carriers.empty() && budget.carriers.front().receiver != nullptr;
}

Finding if_power_fails(const plan::NodeName& name, const Budget& now, const Budget& passive) {
  // The carrier that is left with the least; where no margin is known, the one that loses most.
  std::size_t worst = 0;
  std::vector<std::string> lost;
  const auto left = [](const CarrierBudget& served) {
    return served.margin().value_or(-served.noise_figure);
  };
  for (std::size_t i = 0; i < passive.carriers.size(); ++i) {
    const auto& served = passive.carriers[i];
    if (left(served) < left(passive.carriers[worst])) worst = i;
    if (const auto margin = served.margin(); margin && *margin < Decibel{})
      lost.push_back(served.carrier->name.text);
  }
  const auto& before = now.carriers[worst];
  const auto& after = passive.carriers[worst];
  Finding finding{
      Rule::if_power_fails,
      Severity::note,
      name,
      names_in(after),
      {decibels("chain gain", before.chain_gain), decibels("chain gain passive", after.chain_gain),
       decibels("noise figure", before.noise_figure),
       decibels("noise figure passive", after.noise_figure)},
      "Without power " + name.text + " is a plain antenna: no filter, " +
          difference(after.chain_gain - before.chain_gain) +
          " gain, and the noise figure goes from " + in_words(before.noise_figure) + " to " +
          in_words(after.noise_figure)};
  if (const auto margin = before.margin()) {
    finding.numbers.push_back(decibels("margin", *margin));
    finding.numbers.push_back(decibels("margin passive", *after.margin()));
    finding.sentence += "; " + after.carrier->name.text + " has " + in_words(*after.margin()) +
                        " of margin instead of " + in_words(*margin);
  }
  std::set<std::string> names(lost.begin(), lost.end());
  if (!names.empty()) {
    finding.numbers.push_back({"carriers lost", static_cast<double>(names.size()), ""});
    finding.sentence += ", and " + listed(std::vector<std::string>(names.begin(), names.end())) +
                        (names.size() == 1 ? " is lost" : " are lost") + " here";
  }
  for (const auto& load : passive.receivers)
    if (load.receiver->input && load.margin() < Decibel{})
      finding.sentence +=
          "; " + load.strongest->name.text + " then overloads receiver " + load.receiver->name.text;
  finding.sentence += ".";
  return finding;
}

std::string heard_less_without_power(const Surroundings& around, const plan::Node& node,
                                     const plan::Settings& settings) {
  if (!settings.power || !check_datasheet(node, settings).empty()) return {};
  const auto known = physics_of(around, node);
  if (!known->physics().has_numbers()) return {};
  const TunedNode tuned{known->physics(), settings, &known->searches()};
  const auto now = tuned.at(settings.gain);
  if (!is_heard(now)) return {};
  const auto all = heard_less(now, known->passive());
  const auto count = std::min(all.size(), most_receivers_told);
  std::string text;
  for (std::size_t i = 0; i < count; ++i) text += (i == 0 ? "" : "; ") + lost_words(all[i]);
  if (count < all.size())
    text += "; so do " + std::to_string(all.size() - count) + " receivers more";
  return text;
}

}  // namespace catwalk::rack
