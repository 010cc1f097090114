// SPDX-License-Identifier: Apache-2.0
#pragma once
// A request and its response without any library in them, so that the API can be called by a test
// as well as by a socket.

#include <atomic>
#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/base/role.hpp"

namespace catwalk::web {

using catwalk::Role;

// Who asks, as far as the doors have established it.
struct Caller {
  std::string name;
  Role role = Role::watch;
};

// Who is at the other end of the Unix socket, by the word of the system.
struct Peer {
  std::string name;      // of the user, or "uid 1234" if it has none
  bool trusted = false;  // the superuser, or the one the daemon runs as
};

struct HttpRequest {
  std::string method;                          // "GET"
  std::string path;                            // decoded but for %2F, without the query
  std::map<std::string, std::string> query;    // decoded
  std::map<std::string, std::string> headers;  // names in lower case
  std::string body;
  std::optional<Peer> peer = {};  // over the Unix socket only
  // Becomes true when whoever asked has gone, and may be looked at from any thread. Null: it is not
  // known.
  std::shared_ptr<const std::atomic<bool>> gone = {};

  std::string_view header(const std::string& lower_case_name) const {
    const auto found = headers.find(lower_case_name);
    return found == headers.end() ? std::string_view{} : std::string_view{found->second};
  }
  bool has_header(const std::string& lower_case_name) const {
    return headers.contains(lower_case_name);
  }
};

struct HttpResponse {
  int status = 200;
  std::string content_type = "application/json";
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;
  // Instead of a body: bytes that stand in the program, and so are no connection's own.
  std::string_view embedded = {};
  std::string detail = {};  // of a problem: its sentence, for the log of who was turned away

  std::string_view content() const { return embedded.empty() ? body : embedded; }
};

using Respond = std::function<void(HttpResponse)>;

// A target in absolute form, "http://truss.lan:8470/healthz", as whoever speaks to a proxy writes
// it: RFC 9112, section 3.2.2. The origin form that it comes to, and the authority, which counts
// instead of the Host field. Nothing: it has no authority, and is taken as it came.
struct AbsoluteTarget {
  std::string authority;
  std::string origin;
  friend bool operator==(const AbsoluteTarget&, const AbsoluteTarget&) = default;
};
std::optional<AbsoluteTarget> absolute_target(std::string_view target);

// "Sun, 06 Nov 1994 08:49:37 GMT": RFC 9110, section 5.6.7. From 1970 to the end of 9999.
std::string http_date(std::chrono::sys_seconds at);

// With %XX as the bytes that they stand for: RFC 3986, section 2.1. Nothing: an escape is
// malformed.
std::optional<std::string> percent_decoded(std::string_view text);

// Without the white space that may stand around a value: RFC 9110, section 5.6.3.
std::string_view trimmed(std::string_view text);

// Does If-None-Match name this tag? A list, compared weakly, or "*": RFC 9110, section 13.1.2.
bool names_tag(std::string_view list, std::string_view tag);

// Of ASCII letters only, as in the names of HTTP.
std::string lower_case(std::string_view text);

// Splits "/a/b?x=1&y=%20" into path and query. Nothing if an escape is malformed.
struct Target {
  std::string path;
  std::map<std::string, std::string> query;
};
std::optional<Target> parse_target(std::string_view target);

// "/api/v1/nodes" → {"api", "v1", "nodes"}
std::vector<std::string> path_parts(std::string_view path);

}  // namespace catwalk::web
