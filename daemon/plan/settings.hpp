// SPDX-License-Identifier: Apache-2.0
#pragma once
// What can be set on a node, in the rack's own units.

#include <cstdint>
#include <optional>
#include <string>

#include "daemon/rf/units.hpp"

namespace catwalk::plan {

struct Settings {
  rf::Gain gain;
  std::uint8_t filter = 0;  // index into the datasheet's filters
  rf::Frequency centre;     // 0 for a filter without tuning
  bool power = true;        // false: a plain passive antenna
  std::string label;        // at most 16 bytes of UTF-8, kept on the node
  friend bool operator==(const Settings&, const Settings&) = default;
};

// What somebody asks to be different; what is absent stays as it is. The filter is named, since
// that is how people and files speak of it.
struct SettingsPatch {
  std::optional<rf::Gain> gain = {};
  std::optional<std::string> filter = {};
  std::optional<rf::Frequency> centre = {};
  std::optional<bool> power = {};
  std::optional<std::string> label = {};
  friend bool operator==(const SettingsPatch&, const SettingsPatch&) = default;

  bool empty() const { return !gain && !filter && !centre && !power && !label; }
};

}  // namespace catwalk::plan
