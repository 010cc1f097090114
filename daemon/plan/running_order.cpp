// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/running_order.hpp"

#include <algorithm>

namespace catwalk::plan {
namespace {

std::size_t place_after(const RunningOrder& order, const CueName* at) {
  const auto* here = at == nullptr ? nullptr : order.find(*at);
  return here == nullptr ? 0 : static_cast<std::size_t>(here - order.cues.data()) + 1;
}

}  // namespace

const Cue* RunningOrder::find(const CueName& name) const {
  const auto found = std::ranges::find(cues, name, &Cue::name);
  return found == cues.end() ? nullptr : &*found;
}

const Cue* RunningOrder::after(const CueName* at) const {
  const auto place = place_after(*this, at);
  return place < cues.size() ? &cues[place] : nullptr;
}

std::optional<CueName> RunningOrder::leads_to(const SegmentName& segment, const CueName* armed,
                                              const CueName* at) const {
  if (armed != nullptr)
    if (const auto* cue = find(*armed); cue != nullptr && cue->segment == segment) return cue->name;
  const auto first = place_after(*this, at);
  for (std::size_t i = 0; i < cues.size(); ++i)
    if (const auto& cue = cues[(first + i) % cues.size()]; cue.segment == segment) return cue.name;
  return std::nullopt;
}

}  // namespace catwalk::plan
