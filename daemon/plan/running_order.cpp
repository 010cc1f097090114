// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/running_order.hpp"

#include <algorithm>

namespace catwalk::plan {

std::string_view name_of(SecondTrigger policy) {
  switch (policy) {
    case SecondTrigger::refuse:
      return "refuse";
    case SecondTrigger::queue:
      return "queue";
    case SecondTrigger::replace:
      return "replace";
  }
  return "";
}

std::string_view name_of(AfterRestart policy) {
  switch (policy) {
    case AfterRestart::wait:
      return "wait";
    case AfterRestart::finish:
      return "finish";
    case AfterRestart::roll_back:
      return "roll back";
  }
  return "";
}

const Cue* RunningOrder::find(const CueName& name) const {
  const auto found = std::ranges::find(cues, name, &Cue::name);
  return found == cues.end() ? nullptr : &*found;
}

}  // namespace catwalk::plan
