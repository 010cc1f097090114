// SPDX-License-Identifier: Apache-2.0
#include "config/show_file.hpp"

#include "config/exact_number.hpp"
#include "config/node_settings.hpp"

namespace catwalk::config {
namespace {

using plan::CarrierUse;
using plan::LanePurpose;
using rf::Frequency;

constexpr Frequency lowest = Frequency::kilohertz(1'000);
constexpr Frequency highest = Frequency::kilohertz(6'000'000);
constexpr std::size_t most_receivers_of_a_carrier = 64;

constexpr std::array<std::pair<std::string_view, LanePurpose>, 3> purposes{
    {{"receive", LanePurpose::receive},
     {"transmit", LanePurpose::transmit},
     {"closed", LanePurpose::closed}}};

constexpr std::array<std::pair<std::string_view, CarrierUse>, 2> uses{
    {{"receive", CarrierUse::receive}, {"transmit", CarrierUse::transmit}}};

std::string megahertz_text(const rf::Band& band) {
  return decimal_text(band.low.hertz(), 6) + " to " + decimal_text(band.high.hertz(), 6) + " MHz";
}

std::optional<plan::Lane> read_lane(const Cursor& at, Once<std::string>& names) {
  const Object object{at, {"name", "purpose", "low_mhz", "high_mhz"}, {"why"}};
  const auto name = object["name"].name();
  const auto purpose = object["purpose"].one_of(purposes);
  const auto low = object["low_mhz"].megahertz(lowest, highest);
  const auto high = object["high_mhz"].megahertz(lowest, highest);
  const Cursor why = object["why"];
  const auto reason = why.text(1, 80);
  const bool is_new = !name || names.add(*name, object["name"]);
  if (purpose == LanePurpose::closed && !why.present())
    object.at().report_about("a closed lane says who has it", "the member \"why\"");
  if (low && high && *high <= *low) {
    object["high_mhz"].report("is not above the low edge",
                              "above " + decimal_text(low->hertz(), 6) + " MHz");
    return std::nullopt;
  }
  if (!name || !is_new || !purpose || !low || !high) return std::nullopt;
  return plan::Lane{
      .name = {*name}, .purpose = *purpose, .band = {*low, *high}, .why = reason.value_or("")};
}

std::vector<plan::Lane> read_lanes(const Cursor& at) {
  std::vector<plan::Lane> lanes;
  Once<std::string> names;
  for (const Cursor& element : at.elements(0, most_lanes)) {
    const auto lane = read_lane(element, names);
    if (!lane) continue;
    for (const plan::Lane& other : lanes)
      if (other.purpose != lane->purpose && other.band.overlaps(lane->band))
        element.report_about("this " + std::string{name_of(lane->purpose)} + " lane of " +
                                 megahertz_text(lane->band) + " overlaps the " +
                                 std::string{name_of(other.purpose)} + " lane " +
                                 in_quotes(other.name.text) + " of " + megahertz_text(other.band),
                             "lanes of different purpose that do not overlap");
    lanes.push_back(*lane);
  }
  return lanes;
}

std::vector<plan::ReceiverName> read_receivers(const Cursor& at, CarrierUse use,
                                               const RackFacts& rack) {
  std::vector<plan::ReceiverName> receivers;
  if (use == CarrierUse::transmit) {
    at.report_about("a transmit carrier has no receivers", "no member \"receivers\"");
    return receivers;
  }
  Once<std::string> names;
  for (const Cursor& element : at.elements(1, most_receivers_of_a_carrier)) {
    const auto name = element.name();
    if (name &&
        known_or_reported(element, *name, "a receiver", rack.receivers,
                          rack.receivers_incomplete) &&
        names.add(*name, element))
      receivers.push_back({*name});
  }
  return receivers;
}

std::optional<plan::Carrier> read_carrier(const Cursor& at, Once<std::string>& names,
                                          const RackFacts& rack) {
  const Object object{
      at, {"name", "use", "frequency_mhz", "bandwidth_khz"}, {"erp_dbm", "receivers"}};
  const auto name = object["name"].name();
  const auto use = object["use"].one_of(uses);
  const auto frequency = object["frequency_mhz"].megahertz(lowest, highest);
  const auto bandwidth =
      object["bandwidth_khz"].kilohertz(Frequency::kilohertz(1), Frequency::kilohertz(20'000));
  const auto erp = object["erp_dbm"].real(-60, 60, "dBm");
  const Cursor at_receivers = object["receivers"];
  const bool is_new = !name || names.add(*name, object["name"]);
  if (use == CarrierUse::receive && !at_receivers.present())
    object.at().report_about("a receive carrier names the receivers that must hear it",
                             "the member \"receivers\"");
  const std::vector<plan::ReceiverName> receivers =
      use ? read_receivers(at_receivers, *use, rack) : std::vector<plan::ReceiverName>{};
  if (!name || !is_new || !use || !frequency || !bandwidth) return std::nullopt;
  plan::Carrier carrier{.name = {*name},
                        .use = *use,
                        .frequency = *frequency,
                        .bandwidth = *bandwidth,
                        .erp = std::nullopt,
                        .receivers = receivers};
  if (erp) carrier.erp = rf::PowerLevel::dbm(*erp);
  return carrier;
}

std::map<plan::NodeName, plan::SettingsPatch> read_settings(const Cursor& at,
                                                            const RackFacts& rack) {
  std::map<plan::NodeName, plan::SettingsPatch> settings;
  std::vector<std::string> known;
  for (const auto& [name, facts] : rack.nodes) known.push_back(name);
  for (const auto& [name, cursor] : at.members(512)) {
    const auto node = rack.nodes.find(name);
    if (node == rack.nodes.end()) {
      if (rack.nodes_incomplete) continue;
      const std::string meant = nearest(name, known);
      cursor.report_about(in_quotes(name) + " is not the name of a node" +
                              (meant.empty() ? "" : ", did you mean " + in_quotes(meant) + "?"),
                          listed(known));
      continue;
    }
    settings[{name}] = read_settings_patch(cursor, node->second);
  }
  return settings;
}

std::optional<plan::Segment> read_segment(const Cursor& at, Once<std::string>& names,
                                          const RackFacts& rack) {
  const Object object{at, {"name", "title", "lanes", "carriers", "settings"}, {}};
  const auto name = object["name"].name();
  const bool is_new = !name || names.add(*name, object["name"]);
  plan::Segment segment;
  segment.title = object["title"].text(1, 80).value_or("");
  segment.lanes = read_lanes(object["lanes"]);
  Once<std::string> carrier_names;
  for (const Cursor& element : object["carriers"].elements(0, most_carriers))
    if (auto carrier = read_carrier(element, carrier_names, rack))
      segment.carriers.push_back(std::move(*carrier));
  segment.settings = read_settings(object["settings"], rack);
  if (!name || !is_new) return std::nullopt;
  segment.name = {*name};
  return segment;
}

}  // namespace

std::vector<plan::Segment> read_show(const Cursor& root, const RackFacts& rack) {
  const Object object{root, {"name", "segments"}, {"$schema"}};
  object["name"].name();
  std::vector<plan::Segment> segments;
  Once<std::string> names;
  for (const Cursor& element : object["segments"].elements(1, most_segments))
    if (auto segment = read_segment(element, names, rack)) segments.push_back(std::move(*segment));
  return segments;
}

}  // namespace catwalk::config
