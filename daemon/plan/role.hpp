// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who may do what with a rack.

#include <array>
#include <string_view>
#include <utility>

namespace catwalk::plan {

enum class Role { watch, operate, engineer };  // each may do what the ones before may

inline constexpr std::array<std::pair<std::string_view, Role>, 3> roles{
    {{"watch", Role::watch}, {"operate", Role::operate}, {"engineer", Role::engineer}}};

constexpr std::string_view name_of(Role role) {
  for (const auto& [name, value] : roles)
    if (value == role) return name;
  return "?";
}

}  // namespace catwalk::plan
