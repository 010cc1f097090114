// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/filter_model.hpp"

#include <algorithm>
#include <utility>

#include "daemon/base/overloaded.hpp"

namespace catwalk::plan {

std::optional<TunedFilter> TunedFilter::make(const FilterModel& model, rf::Frequency centre) {
  return std::visit(
      Overloaded{[centre](const rf::TunableFilter& filter) -> std::optional<TunedFilter> {
                   auto response = filter.response(centre);
                   if (!response) return std::nullopt;
                   return TunedFilter{*std::move(response), {}};
                 },
                 [centre](const MeasuredFilter& filter) -> std::optional<TunedFilter> {
                   return TunedFilter{filter.response, centre - filter.measured_at};
                 }},
      model);
}

TunedFilter::TunedFilter(rf::FilterResponse response, rf::Frequency shift)
    : response_{std::move(response)}, shift_{shift} {}

rf::Decibel TunedFilter::attenuation(rf::Frequency frequency) const {
  // A table that was moved far up may begin above 0 Hz only: its first point holds below.
  return rf::attenuation(response_, std::max(frequency - shift_, rf::Frequency::hertz(1)));
}

}  // namespace catwalk::plan
