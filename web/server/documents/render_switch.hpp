// SPDX-License-Identifier: Apache-2.0
#pragma once
// Switches, their previews and the running order as JSON. The OpenAPI document describes them.

#include "daemon/rack/outlook/preview.hpp"
#include "web/server/documents/render.hpp"

namespace catwalk::web {

// `since`: only nodes that differ from this earlier view of the same switch; null: all.
Json render(const rack::SwitchView& view, const plan::RackPlan& plan,
            const rack::SwitchView* since = nullptr);
Json render(const rack::Preview& preview, const plan::RackPlan& plan);
Json render_crew(const plan::SegmentName& left, const plan::SegmentName& entered,
                 const std::vector<rack::CrewRow>& rows);
// As the feed tells it: by its row's key.
Json render(const rack::CrewTick& tick);
Json render(const rack::Armed& armed);
Json render_order(const rack::Snapshot& snapshot);

}  // namespace catwalk::web
