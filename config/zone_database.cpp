// SPDX-License-Identifier: Apache-2.0
#include "config/zone_database.hpp"

#include <date/tz.h>

#include <algorithm>
#include <stdexcept>

#include "config/problem.hpp"

namespace catwalk::config {
namespace {

using std::chrono::seconds;
using std::chrono::sys_seconds;

// Debian links this one to the machine's own zone: a show must not depend on that.
constexpr std::string_view zone_of_the_machine = "localtime";

plan::TimeZone offsets_of(const date::time_zone& zone) {
  plan::TimeZone value{.name = zone.name(), .offsets = {}};
  const sys_seconds end = last_zoned_day + std::chrono::days{1};
  for (sys_seconds at = first_zoned_day; at < end;) {
    const date::sys_info info = zone.get_info(at);
    // A change of the abbreviation alone is none.
    if (value.offsets.empty() || value.offsets.back().ahead != info.offset)
      value.offsets.push_back({.from = at, .ahead = info.offset});
    at = info.end;
  }
  return value;
}

}  // namespace

std::optional<plan::TimeZone> time_zone_named(const std::string& name) {
  if (name == "UTC") return plan::TimeZone{};
  if (name == zone_of_the_machine) return std::nullopt;
  try {
    return offsets_of(*date::locate_zone(name));
  } catch (const std::runtime_error&) {
    return std::nullopt;
  }
}

std::vector<std::string> time_zone_names() {
  std::vector<std::string> names;
  try {
    for (const date::time_zone& zone : date::get_tzdb().zones)
      if (zone.name() != zone_of_the_machine) names.push_back(zone.name());
  } catch (const std::runtime_error&) {
    names.clear();
  }
  return names;
}

std::string nearest_time_zone(const std::string& written) {
  const std::vector<std::string> names = time_zone_names();
  if (std::string meant = nearest(written, names); !meant.empty()) return meant;
  // Most people know the city, not the continent that the database files it under.
  std::vector<std::string> cities;
  for (const std::string& name : names) cities.push_back(name.substr(name.rfind('/') + 1));
  const auto city = std::ranges::find(cities, nearest(written, cities));
  return city == cities.end() ? "" : names[static_cast<std::size_t>(city - cities.begin())];
}

}  // namespace catwalk::config
