// SPDX-License-Identifier: Apache-2.0
#pragma once
// Times of day and dates as ISO 8601 writes them: "19:30", "19:30:15", "2027-07-31".

#include <chrono>
#include <optional>

#include "config/reader.hpp"

namespace catwalk::config {

// Since midnight; 00:00 to 23:59:59.
std::optional<std::chrono::seconds> read_time_of_day(const Cursor& at);
// A day that the calendar has, between the two.
std::optional<std::chrono::year_month_day> read_date(const Cursor& at, std::chrono::sys_days first,
                                                     std::chrono::sys_days last);

}  // namespace catwalk::config
