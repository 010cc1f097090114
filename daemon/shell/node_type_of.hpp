// SPDX-License-Identifier: Apache-2.0
#pragma once
// A simulated node can do what its datasheet says, whoever wrote it.

#include "daemon/plan/datasheet.hpp"
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

}  // namespace catwalk::shell
