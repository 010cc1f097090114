// SPDX-License-Identifier: Apache-2.0
#pragma once
// What there is to watch, in figures.

#include <string>
#include <vector>

#include "daemon/rack/values/snapshot.hpp"
#include "web/server/documents/figures.hpp"

namespace catwalk::web {

// GET /metrics: Prometheus text format 0.0.4.
std::string metrics_text(const rack::Snapshot& snapshot, const std::vector<LineFigures>& lines,
                         const Totals& show_control, const Totals& doors = {},
                         const JournalFigures& journal = {});

}  // namespace catwalk::web
