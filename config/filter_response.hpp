// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "response" of a filter in a datasheet: how it was designed, or what was measured of it.

#include <memory>

#include "config/reader.hpp"
#include "daemon/plan/datasheet.hpp"

namespace catwalk::config {

constexpr std::size_t most_tuning_points = 64;
constexpr std::size_t most_measured_points = 10'000;

// Null if the member is absent or wrong. `filter`: where it passes; null if that is wrong, so that
// the response is only read for its own mistakes. Whatever is given back can be tuned to every
// centre of the filter: rf::TunableFilter::response() succeeds there.
std::shared_ptr<const plan::FilterModel> read_response(const Cursor& at,
                                                       const plan::Filter* filter);

}  // namespace catwalk::config
