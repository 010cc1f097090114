// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/weighed_nearby.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>

#include "daemon/rack/rules/physics_rules.hpp"

namespace catwalk::rack {

int cautions_on_carriers(const plan::Limits& limits, const Budget& carriers) {
  return static_cast<int>(
      std::ranges::count_if(breaches(limits, carriers), [](const Breach& breach) {
        return breach.severity == Severity::caution && breach.rule != Rule::chain_gain;
      }));
}

void WeighedNearby::remember(const Setting& at, std::vector<double> losses, const Budget& budget) {
  all_[{at.filter, at.gain}][at.centre] = {std::move(losses), {{}, {}, budget.carriers}};
}

WeighedNearby::Bound WeighedNearby::bound_by(const plan::Limits& limits, const Weighed& weighed,
                                             const std::vector<double>& losses) const {
  double most = 1e-6;  // more than any rounding
  for (std::size_t i = 0; i < losses.size(); ++i)
    most = std::max(most, std::abs(losses[i] - weighed.losses[i]));
  const auto by = rf::Decibel::of(most);
  Bound bound{0, rf::Decibel::of(std::numeric_limits<double>::infinity())};
  auto at_best = weighed.carriers;
  for (auto& carrier : at_best.carriers) {
    if (carrier.needed) *carrier.needed = *carrier.needed - order_ * by;
    carrier.intermodulation = carrier.intermodulation - (order_ + 1.0) * by;
    carrier.desensitisation = carrier.desensitisation - (order_ + 2.0) * by;
    bound.well_off = std::min(bound.well_off, carrier.well_off());
  }
  bound.cautions = cautions_on_carriers(limits, at_best);
  return bound;
}

std::optional<WeighedNearby::Bound> WeighedNearby::bound(const plan::Limits& limits,
                                                         const Setting& at,
                                                         const std::vector<double>& losses) const {
  const auto found = all_.find({at.filter, at.gain});
  if (found == all_.end()) return std::nullopt;
  const auto& [key, weighed] = *found;
  const auto above = weighed.lower_bound(at.centre);
  std::optional<Bound> bound;
  const auto take = [&](const Weighed& near) {
    const auto one = bound_by(limits, near, losses);
    bound = bound ? Bound{std::max(bound->cautions, one.cautions),
                          std::min(bound->well_off, one.well_off)}
                  : one;
  };
  if (above != weighed.end()) take(above->second);
  if (above != weighed.begin()) take(std::prev(above)->second);
  return bound;
}

}  // namespace catwalk::rack
