// SPDX-License-Identifier: Apache-2.0
#pragma once
// Times as programs send them, RFC 3339, section 5.6; and as people do, by the clock of the show.

#include <optional>
#include <string_view>

#include "daemon/plan/time_zone.hpp"
#include "daemon/rack/values/time.hpp"

namespace catwalk::web {

// "2026-08-14T20:15:00Z", "2026-08-14T22:15:00.25+02:00". What is finer than a microsecond is left
// off. Nothing: it is no such time, or no day of the calendar. A leap second is the one after it.
std::optional<rack::TimePoint> parse_time(std::string_view text);

// The same, or what the clock of the show shows: "19:00", today there; "2026-08-14", from midnight
// on; "2026-08-14 19:00" and "2026-08-14T19:00:30". Where clocks show a time twice, the first.
std::optional<rack::TimePoint> parse_time(std::string_view text, const plan::TimeZone& zone,
                                          rack::TimePoint now);

}  // namespace catwalk::web
