// SPDX-License-Identifier: Apache-2.0
#pragma once
// What happens when a node that was lost answers again with other settings than wanted.

#include "daemon/base/words.hpp"

namespace catwalk::plan {

enum class OnReturn { hold, reapply };
constexpr auto words_of(OnReturn) {
  using enum OnReturn;
  return WordTable<OnReturn, 2>{{{"hold", hold}, {"reapply", reapply}}};
}
using catwalk::name_of;

}  // namespace catwalk::plan
