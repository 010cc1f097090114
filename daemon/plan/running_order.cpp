// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/running_order.hpp"

#include <algorithm>

namespace catwalk::plan {

const Cue* RunningOrder::find(const CueName& name) const {
  const auto found = std::ranges::find(cues, name, &Cue::name);
  return found == cues.end() ? nullptr : &*found;
}

std::optional<CueName> RunningOrder::leads_to(const SegmentName& segment, const CueName* armed,
                                              const CueName* at) const {
  if (armed != nullptr)
    if (const auto* cue = find(*armed); cue != nullptr && cue->segment == segment) return cue->name;
  const auto* here = at == nullptr ? nullptr : find(*at);
  const auto first =
      here == nullptr ? std::size_t{0} : static_cast<std::size_t>(here - cues.data()) + 1;
  for (std::size_t i = 0; i < cues.size(); ++i)
    if (const auto& cue = cues[(first + i) % cues.size()]; cue.segment == segment) return cue.name;
  return std::nullopt;
}

}  // namespace catwalk::plan
