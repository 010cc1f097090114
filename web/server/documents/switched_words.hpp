// SPDX-License-Identifier: Apache-2.0
#pragma once
// What there is to say of one node of a switch in a word or two: how far it is, and where it was
// left.

#include <string>

#include "daemon/rack/values/switch_view.hpp"
#include "web/server/documents/condition.hpp"

namespace catwalk::web {

struct SwitchedWords {
  Level level = Level::calm;
  std::string word;
  int steps_done =
      0;  // 0: nothing yet, 1: told, 2: confirmed, 3: in force, 4: read back at its end
  friend bool operator==(const SwitchedWords&, const SwitchedWords&) = default;
};
constexpr int all_steps_done = 4;

// `one`: the switch that it is a node of; its nodes are not looked at.
SwitchedWords switched_words(const rack::SwitchedNode& node, const rack::SwitchView& view);

}  // namespace catwalk::web
