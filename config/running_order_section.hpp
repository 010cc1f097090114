// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "running_order" of a show: its cues, and what holds for all of them.

#include <string>
#include <vector>

#include "config/reader.hpp"
#include "daemon/plan/running_order.hpp"

namespace catwalk::config {

// The default if the member is absent. `segments`: all names there are. Incomplete: a segment has
// no name of its own, so that a name not found may have been meant for it.
plan::RunningOrder read_running_order(const Cursor& at, const std::vector<std::string>& segments,
                                      bool incomplete);

}  // namespace catwalk::config
