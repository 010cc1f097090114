// SPDX-License-Identifier: Apache-2.0
#pragma once
// How much a node's filter takes off at any frequency: designed, as the datasheet describes it, or
// measured by its owner.

#include <optional>
#include <variant>

#include "daemon/rf/response.hpp"

namespace catwalk::plan {

// Measured at one centre, and taken to keep its shape when the filter is tuned to another: the
// table is moved along by the difference. For a filter without tuning the two are the same.
struct MeasuredFilter {
  rf::MeasuredResponse response;
  rf::Frequency measured_at;
  friend bool operator==(const MeasuredFilter&, const MeasuredFilter&) = default;
};

using FilterModel = std::variant<rf::TunableFilter, MeasuredFilter>;

// The filter tuned to `centre` (of a fixed filter the middle of its band). What is asked of it
// afterwards is fast; the tuning itself looks for a quality factor, some tens of microseconds.
class TunedFilter {
 public:
  // Nothing where the model has no response: at a centre so low that the lower edge would not be
  // above 0 Hz (rf::TunableFilter::response). Centres come from nodes, which may show anything.
  static std::optional<TunedFilter> make(const FilterModel& model, rf::Frequency centre);
  rf::Decibel attenuation(rf::Frequency frequency) const;  // frequency > 0

 private:
  TunedFilter(rf::FilterResponse response, rf::Frequency shift);
  rf::FilterResponse response_;
  rf::Frequency shift_;  // of the table from where it was measured
};

}  // namespace catwalk::plan
