// SPDX-License-Identifier: Apache-2.0
#pragma once
// Figures of the panel side, of the process, and how long things took.

#include "web/server/documents/figures.hpp"
#include "web/server/documents/metric_lines.hpp"

namespace catwalk::web {

void panel_side_metrics(MetricLines& lines, const PanelSideFigures& figures);

}  // namespace catwalk::web
