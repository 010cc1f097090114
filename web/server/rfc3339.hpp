// SPDX-License-Identifier: Apache-2.0
#pragma once
// Times as people and programs send them: RFC 3339, section 5.6.

#include <optional>
#include <string_view>

#include "daemon/rack/time.hpp"

namespace catwalk::web {

// "2026-08-14T20:15:00Z", "2026-08-14T22:15:00.25+02:00". What is finer than a microsecond is left
// off. Nothing: it is no such time, or no day of the calendar. A leap second is the one after it.
std::optional<rack::TimePoint> parse_time(std::string_view text);

}  // namespace catwalk::web
