// SPDX-License-Identifier: Apache-2.0
#include "config/datasheet_file.hpp"

#include <limits>

#include "config/amplifier_figures.hpp"
#include "config/exact_number.hpp"
#include "config/filter_response.hpp"
#include "config/gain_figures.hpp"
#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

using rf::Frequency;
using rf::Gain;

bool read_gain(const Cursor& at, plan::Datasheet& sheet) {
  const Object gain{at, {"lowest", "highest", "step"}, {}};
  const auto lowest = gain["lowest"].decibels(lowest_any_gain, highest_any_gain);
  const auto highest = gain["highest"].decibels(lowest_any_gain, highest_any_gain);
  const auto step = gain["step"].decibels(Gain::centidecibels(1), Gain::centidecibels(6000));
  if (!lowest || !highest || !step) return false;
  if (*highest < *lowest) {
    gain["highest"].report("is below the lowest gain",
                           decimal_text(lowest->centidecibels(), 2) + " to 60 dB");
    return false;
  }
  if ((*highest - *lowest).centidecibels() % step->centidecibels() != 0) {
    gain["step"].report(
        "does not lead from the lowest to the highest gain",
        "a whole fraction of " + decimal_text((*highest - *lowest).centidecibels(), 2) + " dB");
    return false;
  }
  sheet.gains = {*lowest, *highest, *step};
  return true;
}

std::optional<plan::TakenSupply> read_taken_supply(const Cursor& at) {
  constexpr std::int64_t highest_voltage_mv = 60'000;
  const Object object{at, {"lowest_mv", "highest_mv", "ma"}, {"off_ms"}};
  const auto lowest = object["lowest_mv"].integer(1'000, highest_voltage_mv, "mV");
  const auto highest = object["highest_mv"].integer(1'000, highest_voltage_mv, "mV");
  const auto ma = object["ma"].integer(1, 60'000, "mA");
  const Cursor at_off = object["off_ms"];
  const auto off = at_off.integer(1, 60'000, "ms");
  if (!lowest || !highest || !ma || (at_off.present() && !off)) return std::nullopt;
  if (*highest < *lowest) {
    object["highest_mv"].report("is below the lowest voltage",
                                std::to_string(*lowest) + " to 60000 mV");
    return std::nullopt;
  }
  plan::TakenSupply supply{static_cast<std::uint16_t>(*lowest),
                           static_cast<std::uint16_t>(*highest), static_cast<std::uint16_t>(*ma)};
  if (off) supply.off = std::chrono::milliseconds{*off};
  return supply;
}

bool read_sliding(const Cursor& at, plan::Filter& filter) {
  const Object sliding{
      at, {"width_mhz", "lowest_centre_mhz", "highest_centre_mhz", "step_khz"}, {}};
  const auto width =
      sliding["width_mhz"].megahertz(Frequency::kilohertz(100), Frequency::kilohertz(1'000'000));
  const auto lowest =
      sliding["lowest_centre_mhz"].megahertz(lowest_node_frequency, highest_node_frequency);
  const auto highest =
      sliding["highest_centre_mhz"].megahertz(lowest_node_frequency, highest_node_frequency);
  const auto step =
      sliding["step_khz"].kilohertz(Frequency::hertz(1), Frequency::kilohertz(100'000));
  if (!width || !lowest || !highest || !step) return false;
  if (*highest < *lowest) {
    sliding["highest_centre_mhz"].report("is below the lowest centre",
                                         megahertz_text(*lowest) + " to 4200 MHz");
    return false;
  }
  if ((*highest - *lowest).hertz() % step->hertz() != 0) {
    sliding["step_khz"].report(
        "does not lead from the lowest to the highest centre",
        "a whole fraction of " + megahertz_text(*highest - *lowest) + " MHz");
    return false;
  }
  if (*lowest - *width / 2 <= Frequency{}) {
    sliding["width_mhz"].report("reaches below 0 MHz at the lowest centre",
                                "less than twice the lowest centre");
    return false;
  }
  filter.width = *width;
  filter.tuning = plan::Tuning{.lowest = *lowest, .highest = *highest, .step = *step};
  return true;
}

bool read_fixed(const Cursor& at, plan::Filter& filter) {
  const Object fixed{at, {"low_mhz", "high_mhz"}, {}};
  const auto low = fixed["low_mhz"].megahertz(lowest_node_frequency, highest_node_frequency);
  const auto high = fixed["high_mhz"].megahertz(lowest_node_frequency, highest_node_frequency);
  if (!low || !high) return false;
  if (*high <= *low) {
    fixed["high_mhz"].report("is not above the low edge", "above " + megahertz_text(*low) + " MHz");
    return false;
  }
  filter.fixed = {*low, *high};
  filter.width = filter.fixed.width();
  return true;
}

std::optional<plan::Filter> read_filter(const Cursor& at, Once<std::string>& names) {
  const Object object{at, {"name", "skirt_khz"}, {"sliding", "fixed", "response"}};
  const Cursor sliding = object["sliding"];
  const Cursor fixed = object["fixed"];
  plan::Filter filter;
  const auto name = object["name"].name();
  const auto skirt =
      object["skirt_khz"].kilohertz(Frequency::hertz(0), Frequency::kilohertz(100'000));
  const Cursor response = object["response"];
  if (!exactly_one(object, "sliding", "fixed", "a filter cannot be both sliding and fixed",
                   "a filter is either sliding or fixed"))
    return std::nullopt;
  const bool passes = sliding.present() ? read_sliding(sliding, filter) : read_fixed(fixed, filter);
  if (response.present()) filter.model = read_response(response, passes ? &filter : nullptr);
  const bool is_new = !name || names.add(*name, object["name"]);
  if (!name || !is_new || !skirt || !passes) return std::nullopt;
  if (2 * *skirt >= filter.width) {
    object["skirt_khz"].report("leaves nothing of the passband",
                               "less than half of " + megahertz_text(filter.width) + " MHz");
    return std::nullopt;
  }
  filter.name = *name;
  filter.skirt = *skirt;
  return filter;
}

bool read_filters(const Cursor& at, plan::Datasheet& sheet) {
  const std::vector<Cursor> elements = at.elements(1, most_filters);
  Once<std::string> names;
  bool good = !elements.empty();
  for (const Cursor& element : elements) {
    std::optional<plan::Filter> filter = read_filter(element, names);
    good = good && filter;
    if (filter) sheet.filters.push_back(std::move(*filter));
  }
  return good;
}

}  // namespace

std::optional<std::string> read_type(const Cursor& at) {
  std::optional<std::string> type = at.name();
  if (type && type->size() > longest_type) {
    at.report("is too long for the wire", "1 to 24 of a-z, 0-9 and \"-\"");
    return std::nullopt;
  }
  return type;
}

std::optional<plan::Datasheet> read_datasheet(const Cursor& root) {
  const Object object{root,
                      {"type", "title", "gain_db", "filters", "noise_figure_db", "output_p1db_dbm",
                       "output_ip3_dbm", "passive_loss_db"},
                      {"$schema", "amplifier", "antenna_gain_dbi", "filter_position", "kind",
                       "linearity", "noise_figures", "output_ip5_dbm", "supply"}};
  plan::Datasheet sheet;
  const auto type = read_type(object["type"]);
  const auto title = object["title"].text(1, 80);
  const bool gain = read_gain(object["gain_db"], sheet);
  const bool filters = read_filters(object["filters"], sheet);
  const auto noise_figure = object["noise_figure_db"].real(0, 40, "dB");
  const auto position = object["filter_position"].one_of<plan::FilterPosition>();
  const auto p1db = object["output_p1db_dbm"].real(-40, 60, "dBm");
  const auto ip3 = object["output_ip3_dbm"].real(-30, 80, "dBm");
  const auto passive_loss = object["passive_loss_db"].real(0, 60, "dB");
  const Cursor antenna = object["antenna_gain_dbi"];
  const auto antenna_gain = antenna.real(-20, 30, "dBi");
  const Cursor at_ip5 = object["output_ip5_dbm"];
  const auto ip5 = at_ip5.real(-30, 80, "dBm");
  const Cursor at_supply = object["supply"];
  if (at_supply.present()) sheet.supply = read_taken_supply(at_supply);
  constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
  sheet.noise_figure_db = noise_figure.value_or(unknown);
  sheet.output_p1db_dbm = p1db.value_or(unknown);
  sheet.output_ip3_dbm = ip3.value_or(unknown);
  read_gain_figures(object, sheet);
  if (p1db && ip3 && !check_above_compression(object, *p1db, *ip3)) return std::nullopt;
  if (!type || !title || !gain || !filters || !noise_figure || !p1db || !ip3 || !passive_loss ||
      (antenna.present() && !antenna_gain) || (at_ip5.present() && !ip5) ||
      (at_supply.present() && !sheet.supply))
    return std::nullopt;
  sheet.type = *type;
  sheet.title = *title;
  sheet.passive_loss_db = *passive_loss;
  sheet.filter_position = position.value_or(plan::FilterPosition::before_amplifier);
  sheet.antenna_gain_dbi = antenna_gain.value_or(0.0);
  sheet.output_ip5_dbm = ip5;
  return sheet;
}

std::string type_of(const Cursor& root) {
  std::string type = root.member_if_any("type").written_text();
  return is_name(type) && type.size() <= longest_type ? type : std::string{};
}

}  // namespace catwalk::config
