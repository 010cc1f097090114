// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/node_type.hpp"

#include <algorithm>

namespace catwalk::drivers {
namespace {

std::vector<NodeType> make_types() {
  NodeType tern;
  tern.name = "tern-inline";
  tern.lowest_gain = -1200;
  tern.highest_gain = 2700;
  tern.gain_step = 100;
  tern.filters = {{"slide-40", 430'000'000, 740'000'000, 25'000},
                  {"wide-470-600", 0, 0, 0},
                  {"fixed-940-960", 0, 0, 0}};
  tern.current_on = 185;
  tern.current_off = 22;

  NodeType gull;
  gull.name = "gull-integral";
  gull.lowest_gain = -600;
  gull.highest_gain = 1500;
  gull.gain_step = 100;
  gull.filters = {{"slide-24", 482'000'000, 682'000'000, 25'000}, {"wide", 0, 0, 0}};
  gull.current_on = 140;
  gull.current_off = 18;

  NodeType plover;
  plover.name = "plover-fixed";
  plover.lowest_gain = -1200;
  plover.highest_gain = 1200;
  plover.gain_step = 300;
  plover.filters = {{"fixed", 0, 0, 0}};
  plover.current_on = 95;
  plover.current_off = 15;

  return {tern, gull, plover};
}

}  // namespace

const std::vector<NodeType>& built_in_types() {
  static const std::vector<NodeType> types = make_types();
  return types;
}

std::optional<NodeType> built_in_type(std::string_view name) {
  const auto& types = built_in_types();
  const auto at = std::find_if(types.begin(), types.end(),
                               [&](const NodeType& type) { return type.name == name; });
  if (at == types.end()) return std::nullopt;
  return *at;
}

std::string built_in_type_names() {
  std::string names;
  for (const NodeType& type : built_in_types()) {
    if (!names.empty()) names += ", ";
    names += type.name;
  }
  return names;
}

std::optional<protocol::RefusalReason> refusal_of(const NodeType& type,
                                                  const protocol::Settings& settings) {
  using protocol::RefusalReason;
  if (settings.gain_cdb < type.lowest_gain || settings.gain_cdb > type.highest_gain) {
    return RefusalReason::gain_out_of_range;
  }
  if ((settings.gain_cdb - type.lowest_gain) % type.gain_step != 0) {
    return RefusalReason::gain_off_step;
  }
  if (settings.filter >= type.filters.size()) return RefusalReason::filter_unknown;
  const NodeFilter& filter = type.filters[settings.filter];
  if (filter.centre_step == 0) {
    if (settings.centre_hz != 0) return RefusalReason::centre_out_of_range;
    return std::nullopt;
  }
  if (settings.centre_hz < filter.lowest_centre || settings.centre_hz > filter.highest_centre) {
    return RefusalReason::centre_out_of_range;
  }
  if ((settings.centre_hz - filter.lowest_centre) % filter.centre_step != 0) {
    return RefusalReason::centre_off_step;
  }
  return std::nullopt;
}

protocol::Settings factory_settings(const NodeType& type) {
  protocol::Settings settings;
  const int steps_to_zero = -type.lowest_gain / type.gain_step;
  const int gain = std::clamp(type.lowest_gain + steps_to_zero * type.gain_step,
                              int{type.lowest_gain}, int{type.highest_gain});
  settings.gain_cdb = static_cast<std::int16_t>(gain);
  if (!type.filters.empty() && type.filters.front().centre_step != 0) {
    const NodeFilter& filter = type.filters.front();
    const std::uint32_t steps = (filter.highest_centre - filter.lowest_centre) / filter.centre_step;
    settings.centre_hz = filter.lowest_centre + steps / 2 * filter.centre_step;
  }
  return settings;
}

}  // namespace catwalk::drivers
