// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/link_words.hpp"

#include <cstdio>

#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {

std::string availability_in_words(double availability, int antennas) {
  char share[32];
  std::snprintf(share, sizeof share, "%.5g", 100.0 * availability);
  return std::string{share} + " % of the time by " + (antennas == 1 ? "one antenna" : "two");
}

std::string wanted_in_words(const plan::Limits& limits, const CarrierBudget& served) {
  const auto wanted = served.margin_wanted(limits);
  if (wanted == limits.link_margin) return "";
  return "; " + in_words(wanted) + " over that are wanted, for " +
         availability_in_words(*limits.link_availability, served.antennas());
}

}  // namespace catwalk::rack
