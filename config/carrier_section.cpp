// SPDX-License-Identifier: Apache-2.0
#include "config/carrier_section.hpp"

#include "config/differences.hpp"
#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

using plan::CarrierUse;
using rf::Frequency;

constexpr std::size_t most_receivers_of_a_carrier = 64;
constexpr std::size_t longest_holder = 48;  // bytes

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
  carrier.height = read_height(object["height_m"]);
  carrier.extra_loss = read_ratio(object["extra_loss_db"], 0, 100).value_or(rf::Decibel{});
  for (const auto& [name, cursor] : object["isolation_db"].members(most_named_nodes)) {
    const auto isolation = read_ratio(cursor, -50, 300);
    if (node_named(name, cursor, rack) != nullptr && isolation)
      carrier.isolations[{name}] = *isolation;
  }
  for (const auto& [name, cursor] : object["isolation_from_db"].members(most_carriers))
    if (const auto isolation = read_ratio(cursor, -50, 300))
      carrier.isolations_from[{name}] = *isolation;
  carrier.conversion_loss = read_ratio(object["conversion_loss_db"], 0, 60);
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
                      {"erp_dbm", "receivers", "nearest_m", "farthest_m", "place_m", "height_m",
                       "extra_loss_db", "isolation_db", "isolation_from_db", "conversion_loss_db",
                       "noise_dbc_per_hz", "modulation", "early", "late", "held_by"}};
  const auto name = object["name"].name();
  const auto use = object["use"].one_of<CarrierUse>();
  const auto frequency = object["frequency_mhz"].megahertz(lowest_in_use, highest_in_use);
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
  carrier.modulation = object["modulation"].one_of<rf::Modulation>();
  carrier.early = object["early"].boolean().value_or(false);
  carrier.late = object["late"].boolean().value_or(false);
  carrier.held_by = object["held_by"].text(0, longest_holder).value_or("");
  if (!name || !is_new || !use || !frequency || !bandwidth) return std::nullopt;
  carrier.name = {*name};
  carrier.frequency = *frequency;
  carrier.bandwidth = *bandwidth;
  if (erp) carrier.erp = rf::PowerLevel::dbm(*erp);
  return carrier;
}

}  // namespace

void read_carriers(const Cursor& at, const RackFacts& rack, std::vector<plan::Carrier>& carriers) {
  Once<std::string> names;
  const auto elements = at.elements(0, most_carriers);
  bool all_read = true;
  for (const Cursor& element : elements)
    if (auto carrier = read_carrier(element, names, rack))
      put(carriers, std::move(*carrier));
    else
      all_read = false;
  // Those that stand further down in the file may be meant, too.
  std::vector<std::string> known;
  for (const auto& carrier : carriers) known.push_back(carrier.name.text);
  for (const Cursor& element : elements) {
    const Cursor isolations = element.member_if_any("isolation_from_db");
    for (const auto& name : isolations.keys())
      key_known_or_reported(isolations.member_if_any(name), name, "a carrier of this segment",
                            known, !all_read);
  }
}

}  // namespace catwalk::config
