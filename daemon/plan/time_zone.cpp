// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/time_zone.hpp"

#include <algorithm>

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
  // No zone is ever further from UTC than a day, so what holds a day before and after is all that
  // may hold at that moment, but for zones that turn their clocks twice within two days.
  const sys_seconds as_utc{shown.time_since_epoch()};
  const auto before = ahead_at(as_utc - days{1});
  const auto after = ahead_at(as_utc + days{1});
  const auto early = as_utc - std::max(before, after);
  const auto late = as_utc - std::min(before, after);
  if (local(early) == shown) return early;
  if (local(late) == shown) return late;
  // Put forward over it, between the two.
  const auto turned = std::ranges::upper_bound(offsets, early, {}, &Offset::from);
  return turned == offsets.end() ? late : turned->from;
}

std::optional<sys_seconds> ClockTime::next(const TimeZone& zone, sys_seconds from) const {
  if (date) {
    const auto moment = zone.when(std::chrono::local_days{*date} + of_day);
    return moment < from ? std::nullopt : std::optional{moment};
  }
  const auto today = std::chrono::floor<days>(zone.local(from));
  // Yesterday's may still be to come where clocks are put forward over midnight.
  for (auto day = today - days{1};; day += days{1})
    if (const auto moment = zone.when(day + of_day); moment >= from) return moment;
}

}  // namespace catwalk::plan
