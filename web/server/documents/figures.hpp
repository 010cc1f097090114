// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is counted, and told at /metrics.

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/rack/values/journal.hpp"
#include "web/server/documents/timings.hpp"

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

// Of the process, by the system's word.
struct ProcessFigures {
  double cpu_seconds = 0;  // user and system
  double resident_bytes = 0;
  double virtual_bytes = 0;
  double open_descriptors = 0;
  double most_descriptors = 0;
  double threads = 0;
  double started = 0;  // Unix time, seconds
};

// Of the panel side itself.
struct PanelSideFigures {
  Totals doors;  // who was turned away
  std::uint64_t logins = 0;
  std::uint64_t logins_refused = 0;
  std::uint64_t panels_whole = 0;  // on the feed now, told of nodes whole
  std::uint64_t panels_patches = 0;
  std::uint64_t feed_changes = 0;
  std::uint64_t feed_backlogs_dropped = 0;
  std::uint64_t reloads_taken = 0;
  std::uint64_t reloads_refused = 0;
  std::optional<std::chrono::sys_seconds> certificate_ends = {};
  std::optional<Timings> timings = {};
  std::optional<ProcessFigures> process = {};  // absent: the system does not say
  std::string_view version = {}, commit = {};
};

// Of the other rooms.
struct Figures {
  std::vector<LineFigures> lines;
  Totals show_control = {};  // empty: that door is closed
  JournalFigures journal = {};
  PanelSideFigures panel_side = {};
};

}  // namespace catwalk::web
