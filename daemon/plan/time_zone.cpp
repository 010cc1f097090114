// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/time_zone.hpp"

#include <algorithm>
#include <cstdio>

namespace catwalk::plan {

using std::chrono::days;
using std::chrono::local_seconds;
using std::chrono::seconds;
using std::chrono::sys_seconds;

seconds TimeZone::ahead_at(sys_seconds moment) const {
  if (offsets.empty()) return seconds{0};
  const auto after = std::ranges::upper_bound(offsets, moment, {}, &Offset::from);
  return after == offsets.begin() ? after->ahead : std::prev(after)->ahead;
}

local_seconds TimeZone::local(sys_seconds moment) const {
  return local_seconds{(moment + ahead_at(moment)).time_since_epoch()};
}

sys_seconds TimeZone::when(local_seconds shown) const {
  // The first moment at which clocks show this or more. No zone is ever further from UTC than a
  // day, so what was in force until a day before cannot matter any more.
  const sys_seconds as_utc{shown.time_since_epoch()};
  auto next = std::ranges::upper_bound(offsets, as_utc - days{1}, {}, &Offset::from);
  auto moment = as_utc - ahead_at(as_utc - days{1});
  for (; next != offsets.end() && next->from <= moment; ++next)
    moment = std::max(next->from, as_utc - next->ahead);
  return moment;
}

std::optional<sys_seconds> ClockTime::next(const TimeZone& zone, sys_seconds from) const {
  if (date) {
    const auto moment = zone.when(std::chrono::local_days{*date} + of_day);
    return moment < from ? std::nullopt : std::optional{moment};
  }
  const auto today = std::chrono::floor<days>(zone.local(from));
  // Yesterday's may still be to come where clocks are put forward over midnight.
  for (auto day = today - days{1};; day += days{1}) {
    // A zone that moves across the date line leaves a whole day out.
    if (zone.when(day) == zone.when(day + days{1})) continue;
    if (const auto moment = zone.when(day + of_day); moment >= from) return moment;
  }
}

std::string in_words(std::chrono::year_month_day date) {
  char text[40];
  std::snprintf(text, sizeof text, "%04d-%02u-%02u", static_cast<int>(date.year()),
                static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  return text;
}

std::string in_words(seconds of_day) {
  const std::chrono::hh_mm_ss time{of_day};
  char text[40];
  std::snprintf(text, sizeof text, "%02d:%02d:%02d", static_cast<int>(time.hours().count()),
                static_cast<int>(time.minutes().count()), static_cast<int>(time.seconds().count()));
  return text;
}

std::string in_words(std::chrono::sys_time<std::chrono::microseconds> moment) {
  const auto day = std::chrono::floor<std::chrono::days>(moment);
  return in_words(std::chrono::year_month_day{day}) + ' ' +
         in_words(std::chrono::floor<seconds>(moment - day)) + 'Z';
}

}  // namespace catwalk::plan
