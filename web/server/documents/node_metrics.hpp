// SPDX-License-Identifier: Apache-2.0
#pragma once
// What there is to watch of each node.

#include "daemon/rack/values/snapshot.hpp"
#include "web/server/documents/metric_lines.hpp"

namespace catwalk::web {

// Families of the text format, a sample for each node: whether it answers and shows what is wanted,
// alarms that hold, and what its last reading said. Of a node that does not answer no reading is
// told, only when the last one was: a moment, not an age, so that the age goes on by itself.
void node_metrics(MetricLines& lines, const rack::Snapshot& snapshot);

}  // namespace catwalk::web
