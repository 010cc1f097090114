// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/shrink.hpp"

#include <algorithm>

namespace catwalk::simulation {

Script shrunk(Script script, const Fails& fails, int most_runs) {
  std::size_t piece = std::max<std::size_t>(script.actions.size() / 2, 1);
  while (most_runs > 0 && !script.actions.empty()) {
    bool any = false;
    // From the end: what came last is most often beside the point, or the point
    // itself.
    for (std::size_t end = script.actions.size(); end > 0 && most_runs > 0;) {
      const auto begin = end > piece ? end - piece : 0;
      auto less = script;
      less.actions.erase(less.actions.begin() + static_cast<std::ptrdiff_t>(begin),
                         less.actions.begin() + static_cast<std::ptrdiff_t>(end));
      --most_runs;
      if (fails(less)) {
        script = std::move(less);
        any = true;
      }
      end = begin;
    }
    if (piece > 1)
      piece = std::min(piece / 2, std::max<std::size_t>(script.actions.size() / 2, 1));
    else if (!any)
      break;
  }
  return script;
}

}  // namespace catwalk::simulation
