// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/filter_model.hpp"

#include <algorithm>

#include "protocol/overloaded.hpp"

namespace catwalk::plan {
namespace {

rf::FilterResponse response_of(const FilterModel& model, rf::Frequency centre) {
  return std::visit(Overloaded{[centre](const rf::TunableFilter& filter) -> rf::FilterResponse {
                                 return filter.response(centre).value();
                               },
                               [](const MeasuredFilter& filter) -> rf::FilterResponse {
                                 return filter.response;
                               }},
                    model);
}

rf::Frequency shift_of(const FilterModel& model, rf::Frequency centre) {
  const auto* measured = std::get_if<MeasuredFilter>(&model);
  return measured == nullptr ? rf::Frequency{} : centre - measured->measured_at;
}

}  // namespace

TunedFilter::TunedFilter(const FilterModel& model, rf::Frequency centre)
    : response_{response_of(model, centre)}, shift_{shift_of(model, centre)} {}

rf::Decibel TunedFilter::attenuation(rf::Frequency frequency) const {
  // A table that was moved far up may begin above 0 Hz only: its first point holds below.
  return rf::attenuation(response_, std::max(frequency - shift_, rf::Frequency::hertz(1)));
}

}  // namespace catwalk::plan
