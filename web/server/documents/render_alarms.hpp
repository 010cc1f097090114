// SPDX-License-Identifier: Apache-2.0
#pragma once
// Alarms as JSON.

#include <vector>

#include "daemon/rack/values/alarm.hpp"
#include "web/server/documents/render.hpp"

namespace catwalk::web {

// `all`: those that it may stand under.
Json render(const rack::Alarm& alarm, const std::vector<rack::Alarm>& all);
// The most urgent first.
Json render_alarms(const std::vector<rack::Alarm>& alarms);

}  // namespace catwalk::web
