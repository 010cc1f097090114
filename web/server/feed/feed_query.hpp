// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a panel says when it comes: GET /api/v1/live?server=5f0c…&since=41&nodes=patches

#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "daemon/base/result.hpp"
#include "web/server/feed/feed.hpp"
#include "web/server/http/http.hpp"

namespace catwalk::web {

struct FeedQuery {
  std::string server;                  // of the last hello; empty: it says none
  std::optional<std::uint64_t> since;  // the last sequence that it has seen
  Telling telling = Telling::whole_nodes;
};

// Or a problem that names every bad value.
Result<FeedQuery, HttpResponse> read_feed_query(const std::map<std::string, std::string>& query);

}  // namespace catwalk::web
