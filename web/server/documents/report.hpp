// SPDX-License-Identifier: Apache-2.0
#pragma once
// The record of a show as a document to print and to file: what went wrong in a stretch of time,
// what was on the air when, who changed what; and what the rack is, is planned and is set now. One
// HTML page without scripts and without anything from elsewhere. Pure.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/rack/values/journal.hpp"
#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::web {

struct ReportAsk {
  rack::TimePoint from;  // this moment counts
  rack::TimePoint to;    // this one does not
  rack::TimePoint now;
  std::string caller;      // whom it is made for
  rack::JournalHead head;  // of the journal: all rows up to it can be proved by this document
  // What was on the air when the time begins; absent: the journal does not know.
  std::optional<rack::StoredEntry> on_the_air = {};
};

// `rows`: of the journal within that time, newest first as it gives them. `more`: there are older
// ones, too many for a document. Times stand as clocks in the zone of the running order show them.
std::string report_text(const rack::Snapshot& snapshot, const std::vector<rack::StoredEntry>& rows,
                        bool more, const ReportAsk& ask);

// Its own policy: nothing is loaded, nothing runs, and the one style is known by its hash.
std::string report_policy();

}  // namespace catwalk::web
