// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who may do what with a rack.

#include "daemon/base/words.hpp"

namespace catwalk {

enum class Role { watch, operate, engineer };  // each may do what the ones before may
constexpr auto words_of(Role) {
  using enum Role;
  return WordTable<Role, 3>{{{"watch", watch}, {"operate", operate}, {"engineer", engineer}}};
}

}  // namespace catwalk
