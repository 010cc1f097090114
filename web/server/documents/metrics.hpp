// SPDX-License-Identifier: Apache-2.0
#pragma once
// What there is to watch, in figures.

#include <string>

#include "daemon/rack/values/snapshot.hpp"
#include "web/server/documents/figures.hpp"
#include "web/server/documents/metric_lines.hpp"

namespace catwalk::web {

// GET /metrics.
std::string metrics_text(const rack::Snapshot& snapshot, const Figures& figures,
                         MetricFormat format = MetricFormat::prometheus);

}  // namespace catwalk::web
