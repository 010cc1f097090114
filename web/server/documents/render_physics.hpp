// SPDX-License-Identifier: Apache-2.0
#pragma once
// Level budgets and recommendations as JSON. Levels in dBm, ratios in dB, to 0.001; what is not
// known, or has no power or no limit at all, is absent.

#include "daemon/rack/outlook/explain.hpp"
#include "daemon/rack/outlook/recommend.hpp"
#include "web/server/documents/render.hpp"

namespace catwalk::web {

// Adds "carriers", "chains" and "unknown" to `json`.
void add_explained(Json& json, const rack::Explained& explained);
Json render(const rack::Recommendation& recommendation, const plan::Datasheet& datasheet);

}  // namespace catwalk::web
