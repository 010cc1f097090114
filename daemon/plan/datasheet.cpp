// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/datasheet.hpp"

namespace catwalk::plan {

std::optional<std::uint8_t> Datasheet::filter_index(std::string_view name) const {
  for (std::size_t i = 0; i < filters.size(); ++i)
    if (filters[i].name == name) return static_cast<std::uint8_t>(i);
  return std::nullopt;
}

}  // namespace catwalk::plan
