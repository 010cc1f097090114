// SPDX-License-Identifier: Apache-2.0
#pragma once
// A simulated node can do what its datasheet says, whoever wrote it.

#include <utility>

#include "daemon/plan/device.hpp"
#include "drivers/node/node_type.hpp"

namespace catwalk::shell {

inline drivers::NodeType node_type_of(const plan::Datasheet& sheet) {
  drivers::AmplifierType type;
  type.lowest_gain = static_cast<std::int16_t>(sheet.gains.lowest.centidecibels());
  type.highest_gain = static_cast<std::int16_t>(sheet.gains.highest.centidecibels());
  type.gain_step = static_cast<std::int16_t>(sheet.gains.step.centidecibels());
  for (const auto& filter : sheet.filters) {
    drivers::NodeFilter copy{.name = filter.name};
    if (filter.tuning) {
      copy.lowest_centre = static_cast<std::uint32_t>(filter.tuning->lowest.hertz());
      copy.highest_centre = static_cast<std::uint32_t>(filter.tuning->highest.hertz());
      copy.centre_step = static_cast<std::uint32_t>(filter.tuning->step.hertz());
    }
    type.filters.push_back(std::move(copy));
  }
  const auto& like = drivers::built_in_types().front();
  return {sheet.type, like.current_on, like.current_off, std::move(type)};
}

inline drivers::NodeType node_type_of(const plan::MatrixSheet& sheet) {
  drivers::MatrixType type;
  type.inputs = static_cast<std::uint8_t>(sheet.inputs);
  type.outputs = static_cast<std::uint8_t>(sheet.outputs);
  type.most_summed = static_cast<std::uint8_t>(sheet.most_summed());
  if (const auto& trims = sheet.trims) {
    type.lowest_trim = static_cast<std::int16_t>(trims->lowest.centidecibels());
    type.highest_trim = static_cast<std::int16_t>(trims->highest.centidecibels());
    type.trim_step = static_cast<std::int16_t>(trims->step.centidecibels());
  }
  if (const auto& supply = sheet.supply) {
    type.supplies_mv = supply->millivolts;
    type.most_ma = supply->most_ma;
  }
  type.measures_current = sheet.measures_current;
  type.measures_level = sheet.measures_level;
  const auto like = drivers::built_in_type("heron-sum").value_or(drivers::built_in_types().front());
  return {sheet.type, like.current_on, like.current_off, std::move(type)};
}

inline drivers::NodeType node_type_of(const plan::Device& device) {
  return device.amplifier() != nullptr ? node_type_of(*device.amplifier()->datasheet)
                                       : node_type_of(*device.matrix()->sheet);
}

}  // namespace catwalk::shell
