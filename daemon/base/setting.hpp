// SPDX-License-Identifier: Apache-2.0
#pragma once
// What can be set on a node, as people, files and JSON call it. Whoever reads, writes, words or
// judges settings walks this list; plan/settings.hpp has the values.

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"

namespace catwalk {

enum class Setting { gain, filter, centre, power, label };

// In sentences, and before the "=" of the command line.
constexpr auto words_of(Setting) {
  using enum Setting;
  return WordTable<Setting, 5>{
      {{"gain", gain}, {"filter", filter}, {"centre", centre}, {"power", power}, {"label", label}}};
}

// How a value is written.
enum class SettingForm { decibels, megahertz, name, flag, text };

constexpr SettingForm form_of(Setting setting) {
  switch (setting) {
    case Setting::gain:
      return SettingForm::decibels;
    case Setting::filter:
      return SettingForm::name;
    case Setting::centre:
      return SettingForm::megahertz;
    case Setting::power:
      return SettingForm::flag;
    case Setting::label:
      break;
  }
  return SettingForm::text;
}

// In JSON, in files and in queries: numbers carry their unit in their name.
constexpr std::string_view member_of(Setting setting) {
  switch (setting) {
    case Setting::gain:
      return "gain_db";
    case Setting::centre:
      return "centre_mhz";
    default:
      return name_of(setting);
  }
}

inline std::vector<std::string> setting_members() {
  std::vector<std::string> members;
  for (const auto& [word, setting] : words_of(Setting{})) members.emplace_back(member_of(setting));
  return members;
}

inline constexpr std::size_t longest_label = 16;  // bytes of UTF-8 that a node keeps

}  // namespace catwalk
