// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/power_failure.hpp"

#include <set>

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

}  // namespace catwalk::rack
