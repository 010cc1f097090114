// SPDX-License-Identifier: Apache-2.0
#pragma once
// Amplifiers and matrices in one row, in the order of plan::device_at().

#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::simulation {

inline std::size_t count_views(const rack::Snapshot& now) {
  return now.nodes.size() + now.matrices.size();
}
inline const rack::NodeViewPtr& view_at(const rack::Snapshot& now, std::size_t place) {
  return place < now.nodes.size() ? now.nodes[place] : now.matrices[place - now.nodes.size()];
}
// Null: the rack has none of these.
inline const rack::NodeView* view_of(const rack::Snapshot& now, protocol::NodeUid uid) {
  for (std::size_t i = 0; i < count_views(now); ++i)
    if (view_at(now, i)->uid == uid) return view_at(now, i).get();
  return nullptr;
}
inline const rack::NodeView* view_of(const rack::Snapshot& now, const plan::NodeName& name) {
  for (std::size_t i = 0; i < count_views(now); ++i)
    if (view_at(now, i)->name == name) return view_at(now, i).get();
  return nullptr;
}

}  // namespace catwalk::simulation
