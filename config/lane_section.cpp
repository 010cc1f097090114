// SPDX-License-Identifier: Apache-2.0
#include "config/lane_section.hpp"

#include <algorithm>

#include "config/differences.hpp"
#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

using plan::Lane;
using plan::LanePurpose;

std::string band_text(const rf::Band& band) {
  return megahertz_text(band.low) + " to " + megahertz_text(band.high) + " MHz";
}

std::optional<Lane> read_lane(const Cursor& at, Once<std::string>& names) {
  const Object object{at, {"name", "purpose", "low_mhz", "high_mhz"}, {"why"}};
  const auto name = object["name"].name();
  const auto purpose = object["purpose"].one_of<LanePurpose>();
  const auto low = object["low_mhz"].megahertz(lowest_in_use, highest_in_use);
  const auto high = object["high_mhz"].megahertz(lowest_in_use, highest_in_use);
  const Cursor why = object["why"];
  const auto reason = why.text(1, 80);
  const bool is_new = !name || names.add(*name, object["name"]);
  if (purpose == LanePurpose::closed && !why.present())
    object.at().report_about("a closed lane says who has it", "the member \"why\"");
  if (low && high && *high <= *low) {
    object["high_mhz"].report("is not above the low edge",
                              "above " + megahertz_text(*low) + " MHz");
    return std::nullopt;
  }
  if (!name || !is_new || !purpose || !low || !high) return std::nullopt;
  return Lane{
      .name = {*name}, .purpose = *purpose, .band = {*low, *high}, .why = reason.value_or("")};
}

}  // namespace

void read_lanes(const Cursor& at, std::vector<Lane>& lanes) {
  std::vector<std::pair<Lane, Cursor>> given;
  Once<std::string> names;
  for (const Cursor& element : at.elements(0, most_lanes))
    if (auto lane = read_lane(element, names)) given.emplace_back(std::move(*lane), element);

  // Those that are given anew say nothing any more.
  std::vector<Lane> others = lanes;
  std::erase_if(others, [&](const Lane& lane) {
    return std::ranges::any_of(given, [&](const auto& one) { return one.first.name == lane.name; });
  });
  for (const auto& [lane, element] : given) {
    for (const Lane& other : others)
      if (other.purpose != lane.purpose && other.band.overlaps(lane.band))
        element.report_about("this " + std::string{name_of(lane.purpose)} + " lane of " +
                                 band_text(lane.band) + " overlaps the " +
                                 std::string{name_of(other.purpose)} + " lane " +
                                 in_quotes(other.name.text) + " of " + band_text(other.band),
                             "lanes of different purpose that do not overlap");
    others.push_back(lane);
    put(lanes, lane);
  }
}

}  // namespace catwalk::config
