// SPDX-License-Identifier: Apache-2.0
#pragma once
// What can be set on a node, in the rack's own units.

#include <cstdint>
#include <optional>
#include <string>

#include "daemon/base/setting.hpp"
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

  bool empty() const;
  // This, and what `more` asks for on top.
  SettingsPatch with(const SettingsPatch& more) const;
};

// Where a setting has its value, in whole settings and in what is asked.
template <Setting name, auto value, auto asked>
struct SettingField {
  static constexpr Setting setting = name;
  static constexpr auto& of(auto& settings) { return settings.*value; }
  static constexpr auto& asked_of(auto& patch) { return patch.*asked; }
};

// visit(field) for each, in the order of `Setting`. Who treats all settings alike, apart from their
// types, walks them so.
template <class Visit>
constexpr void for_each_setting(const Visit& visit) {
  visit(SettingField<Setting::gain, &Settings::gain, &SettingsPatch::gain>{});
  visit(SettingField<Setting::filter, &Settings::filter, &SettingsPatch::filter>{});
  visit(SettingField<Setting::centre, &Settings::centre, &SettingsPatch::centre>{});
  visit(SettingField<Setting::power, &Settings::power, &SettingsPatch::power>{});
  visit(SettingField<Setting::label, &Settings::label, &SettingsPatch::label>{});
}

inline bool SettingsPatch::empty() const { return *this == SettingsPatch{}; }

inline SettingsPatch SettingsPatch::with(const SettingsPatch& more) const {
  auto both = *this;
  for_each_setting([&](auto field) {
    if (const auto& asked = field.asked_of(more)) field.asked_of(both) = asked;
  });
  return both;
}

}  // namespace catwalk::plan
