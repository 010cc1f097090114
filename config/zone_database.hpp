// SPDX-License-Identifier: Apache-2.0
#pragma once
// The IANA time zone database as this machine has it (Debian package tzdata), read by the library
// that Debian calls libhowardhinnant-date. It is read once, at the first question; a newer one
// counts from the next start of the daemon.

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "daemon/plan/time_zone.hpp"

namespace catwalk::config {

// Offsets are known from the first to the last of these. The database itself says of no moment
// after 2037 when clocks will be turned.
constexpr std::chrono::sys_days first_zoned_day =
    std::chrono::sys_days{std::chrono::year{1970} / 1 / 1};
constexpr std::chrono::sys_days last_zoned_day =
    std::chrono::sys_days{std::chrono::year{2037} / 12 / 31};

// Nothing if the database has no such zone, or there is no database. "UTC" needs none.
std::optional<plan::TimeZone> time_zone_named(const std::string& name);

// Every name that the database has, links included; empty if there is no database.
std::vector<std::string> time_zone_names();

// The name that was probably meant, or an empty text: "Europe/Helsinki" for "Europe/Helsinky" and
// for "Helsinki".
std::string nearest_time_zone(const std::string& written);

}  // namespace catwalk::config
