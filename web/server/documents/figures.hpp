// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is counted, and told at /metrics.

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "daemon/rack/values/journal.hpp"

namespace catwalk::web {

// For /metrics, by name: {"frames_sent", 1042}.
using Totals = std::vector<std::pair<std::string, std::uint64_t>>;

struct LineFigures {
  std::string line;
  Totals totals;
};

struct JournalFigures {
  rack::JournalHead head;
  std::uint64_t records_failed = 0;    // since the start
  std::uint64_t readings_refused = 0;  // too many waited
};

}  // namespace catwalk::web
