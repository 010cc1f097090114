// SPDX-License-Identifier: Apache-2.0
#include "config/show_file.hpp"

#include "config/exact_number.hpp"
#include "config/node_settings.hpp"
#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

using plan::CarrierUse;
using plan::LanePurpose;
using rf::Frequency;

constexpr Frequency lowest = Frequency::kilohertz(1'000);
constexpr Frequency highest = Frequency::kilohertz(6'000'000);
constexpr std::size_t most_receivers_of_a_carrier = 64;
constexpr std::size_t most_named_nodes = 512;

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

// The node of this name, as a member is named by it; null if there is none or nobody can know.
const NodeFacts* node_named(const std::string& name, const Cursor& at, const RackFacts& rack) {
  const auto node = rack.nodes.find(name);
  if (node != rack.nodes.end()) return &node->second;
  if (rack.nodes_incomplete) return nullptr;
  std::vector<std::string> known;
  for (const auto& [other, facts] : rack.nodes) known.push_back(other);
  const std::string meant = nearest(name, known);
  at.report_about(in_quotes(name) + " is not the name of a node" +
                      (meant.empty() ? "" : ", did you mean " + in_quotes(meant) + "?"),
                  listed(known));
  return nullptr;
}

void read_distances(const Object& object, plan::Carrier& carrier) {
  const Cursor at_nearest = object["nearest_m"];
  const Cursor at_farthest = object["farthest_m"];
  const auto nearest = at_nearest.real(0.1, 10'000, "m");
  const auto farthest = at_farthest.real(0.1, 10'000, "m");
  if (at_nearest.present() != at_farthest.present()) {
    at_nearest.report("is given without \"farthest_m\"", "both or neither");
    at_farthest.report("is given without \"nearest_m\"", "both or neither");
  }
  if (nearest && farthest && *farthest < *nearest)
    at_farthest.report("is nearer than the nearest", "the value of \"nearest_m\" or more");
  if (nearest) carrier.nearest = rf::Metres::of(*nearest);
  if (farthest) carrier.farthest = rf::Metres::of(*farthest);
}

// How it comes to the antennas, and what it brings along.
void read_propagation(const Object& object, const RackFacts& rack, plan::Carrier& carrier) {
  read_distances(object, carrier);
  carrier.place = read_place(object["place_m"]);
  carrier.extra_loss = read_ratio(object["extra_loss_db"], 0, 100).value_or(rf::Decibel{});
  for (const auto& [name, cursor] : object["isolation_db"].members(most_named_nodes)) {
    const auto isolation = read_ratio(cursor, -50, 300);
    if (node_named(name, cursor, rack) != nullptr && isolation)
      carrier.isolations[{name}] = *isolation;
  }
  const Cursor at_noise = object["noise_dbc_per_hz"];
  carrier.noise_density = read_ratio(at_noise, -250, 0, "dBc/Hz");
  if (carrier.use == CarrierUse::receive)
    at_noise.report_about("wide-band noise is that of a transmit carrier",
                          "no member \"noise_dbc_per_hz\"");
}

std::optional<plan::Carrier> read_carrier(const Cursor& at, Once<std::string>& names,
                                          const RackFacts& rack) {
  const Object object{at,
                      {"name", "use", "frequency_mhz", "bandwidth_khz"},
                      {"erp_dbm", "receivers", "nearest_m", "farthest_m", "place_m",
                       "extra_loss_db", "isolation_db", "noise_dbc_per_hz"}};
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
  plan::Carrier carrier;
  carrier.use = use.value_or(CarrierUse::transmit);
  if (use) carrier.receivers = read_receivers(at_receivers, *use, rack);
  read_propagation(object, rack, carrier);
  if (!name || !is_new || !use || !frequency || !bandwidth) return std::nullopt;
  carrier.name = {*name};
  carrier.frequency = *frequency;
  carrier.bandwidth = *bandwidth;
  if (erp) carrier.erp = rf::PowerLevel::dbm(*erp);
  return carrier;
}

std::map<plan::NodeName, plan::SettingsPatch> read_settings(const Cursor& at,
                                                            const RackFacts& rack) {
  std::map<plan::NodeName, plan::SettingsPatch> settings;
  for (const auto& [name, cursor] : at.members(most_named_nodes))
    if (const NodeFacts* node = node_named(name, cursor, rack))
      settings[{name}] = read_settings_patch(cursor, *node);
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
