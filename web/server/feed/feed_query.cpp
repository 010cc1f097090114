// SPDX-License-Identifier: Apache-2.0
#include "web/server/feed/feed_query.hpp"

#include <vector>

#include "web/server/http/input.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

BadValue not_allowed(const std::string& name, const std::string& value,
                     const std::string& allowed) {
  return {"query/" + name, value, allowed,
          name + " is \"" + value + "\"; allowed is " + allowed + "."};
}

}  // namespace

Result<FeedQuery, HttpResponse> read_feed_query(const std::map<std::string, std::string>& query) {
  FeedQuery read;
  std::vector<BadValue> bad;
  for (const auto& [name, value] : query) {
    const auto wrong = [&bad, &said = value, &of = name](const char* allowed) {
      bad.push_back(not_allowed(of, said, allowed));
    };
    if (name == "server") {
      read.server = value;
    } else if (name == "since") {
      read.since = parse_whole(value);
      if (!read.since) wrong("a sequence number");
    } else if (name == "nodes") {
      if (value == "patches")
        read.telling = Telling::node_patches;
      else if (value != "whole")
        wrong("whole, patches");
    } else {
      bad.push_back(
          {"query/" + name, value, "server, since, nodes",
           "There is no query parameter \"" + name + "\" here; known are: server, since, nodes."});
    }
  }
  if (!bad.empty()) return Failure{bad_values(bad)};
  return read;
}

}  // namespace catwalk::web
