// SPDX-License-Identifier: Apache-2.0
#pragma once
// What of the journal is asked for: ?node=…&kind=…&who=…&from=2026-08-14T20:15:00Z&limit=…
// Times may also be told by the clock of the show (rfc3339.hpp).

#include <cstdint>
#include <vector>

#include "daemon/plan/time_zone.hpp"
#include "daemon/rack/values/journal.hpp"
#include "web/server/http/http.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {

struct JournalAsk {
  rack::JournalQuery query;
  std::vector<BadValue> complaints;
};
// `most`: rows that may be asked for.
JournalAsk read_journal_query(const HttpRequest& request, const plan::TimeZone& zone,
                              rack::TimePoint now, std::uint64_t most = 1000);

// ?from=…&to=…: of the last 24 hours before `to` if there is no `from`, up to now if there is no
// `to`.
struct TimeAsk {
  rack::TimePoint from;
  rack::TimePoint to;
  std::vector<BadValue> complaints;
};
TimeAsk read_time_query(const HttpRequest& request, const plan::TimeZone& zone,
                        rack::TimePoint now);

}  // namespace catwalk::web
