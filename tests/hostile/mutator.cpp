// SPDX-License-Identifier: Apache-2.0
#include "tests/hostile/mutator.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <string_view>
#include <utility>

namespace catwalk::test {
namespace {

using namespace std::string_view_literals;

struct Valid {
  std::string_view method, target, body;
};

// One of each kind of route, and all that act.
constexpr std::array valid_requests{
    Valid{"GET", "/", ""},
    Valid{"GET", "/app.js", ""},
    Valid{"GET", "/healthz", ""},
    Valid{"GET", "/metrics", ""},
    Valid{"GET", "/api/v1/session", ""},
    Valid{"POST", "/api/v1/session", R"({"token":"a token that nobody has"})"},
    Valid{"DELETE", "/api/v1/session", ""},
    Valid{"GET", "/api/v1/rack", ""},
    Valid{"POST", "/api/v1/rack/lock", R"({"why":"the show begins"})"},
    Valid{"POST", "/api/v1/rack/unlock", "{}"},
    Valid{"POST", "/api/v1/rack/segment", R"({"segment":"finale","why":"x"})"},
    Valid{"POST", "/api/v1/rack/take-over", "{}"},
    Valid{"POST", "/api/v1/rack/reload", ""},
    Valid{"GET", "/api/v1/nodes", ""},
    Valid{"GET", "/api/v1/nodes/net-1/settings", ""},
    Valid{"PATCH", "/api/v1/nodes/net-1/settings", R"({"gain_db":6,"label":"left","why":"x"})"},
    Valid{"PATCH", "/api/v1/nodes/bus-1/settings?dry_run=true", R"({"centre_mhz":585.025})"},
    Valid{"POST", "/api/v1/nodes/net-1/adopt", "{}"},
    Valid{"POST", "/api/v1/nodes/bus-2/reapply", "{}"},
    Valid{"POST", "/api/v1/nodes/net-2/locate", R"({"seconds":3})"},
    Valid{"POST", "/api/v1/nodes/net-2/store", "{}"},
    Valid{"GET", "/api/v1/nodes/net-1/explain?carrier=voice&segment=finale", ""},
    Valid{"POST", "/api/v1/nodes/net-1/what-if",
          R"({"settings":{"gain_db":9},"passive":["bus-1"],"louder_db":{"ears-1":3}})"},
    Valid{"GET", "/api/v1/nodes/net-1/response?gain_db=6&filter=slide-40&centre_mhz=585", ""},
    Valid{"GET", "/api/v1/segments/finale/check", ""},
    Valid{"GET", "/api/v1/running-order", ""},
    Valid{"POST", "/api/v1/running-order/arm", R"({"cue":"one"})"},
    Valid{"POST", "/api/v1/running-order/message", R"({"text":"go"})"},
    Valid{"POST", "/api/v1/switch", R"({"segment":"finale","waiver":{"who":"a","reason":"b"}})"},
    Valid{"POST", "/api/v1/switch/abort", "{}"},
    Valid{"POST", "/api/v1/lines/bus/discover", "{}"},
    Valid{"POST", "/api/v1/lines/bus/discovered/7a10-00000201/locate", R"({"seconds":3})"},
    Valid{"GET", "/api/v1/alarms", ""},
    Valid{"POST", "/api/v1/alarms/1/shelve", R"({"for_s":60,"why":"known"})"},
    Valid{"GET", "/api/v1/journal?node=net-1&from=2026-08-14T20:15:00Z&limit=3", ""},
    Valid{"GET", "/api/v1/journal.csv?limit=3", ""},
    Valid{"GET", "/api/v1/live?server=0123456789abcdef&since=3", ""},
};

constexpr std::array methods{"GET"sv,     "HEAD"sv,   "POST"sv,    "PUT"sv,
                             "PATCH"sv,   "DELETE"sv, "OPTIONS"sv, "TRACE"sv,
                             "CONNECT"sv, "get"sv,    "PURGE"sv,   "G\xC3\x9CT"sv};
constexpr std::array targets{"*"sv,
                             "//"sv,
                             "/../../etc/passwd"sv,
                             "http://127.0.0.1/api/v1/rack"sv,
                             "http://evil.example/api/v1/rack/lock"sv,
                             "127.0.0.1:80"sv,
                             "/api/v1/nodes/%00"sv,
                             "/api/v1/nodes/%2e%2e%2frack"sv,
                             "/api/v1/nodes/%ff%fe"sv,
                             "/api/v1/nodes/net-1/settings?dry_run=true&dry_run=false"sv,
                             "/api/v1/journal?text=%25%27%3B--"sv,
                             "/api/v1/journal?limit=18446744073709551616"sv,
                             "/api/v1/openapi.json"sv,
                             "/api/v1/rack/?"sv,
                             "/api/v1"sv};
constexpr std::array fields{"Host: evil.example"sv,
                            "Host: [::1]evil.example"sv,
                            "Host:"sv,
                            "Origin: http://evil.example"sv,
                            "Origin: null"sv,
                            "Sec-Fetch-Site: cross-site"sv,
                            "Content-Type: text/plain"sv,
                            "Content-Type: application/merge-patch+json; charset=utf-16"sv,
                            "Transfer-Encoding: xchunked"sv,
                            "Transfer-Encoding: chunked"sv,
                            "Transfer-Encoding: gzip, chunked"sv,
                            "Content-Length: 0"sv,
                            "Content-Length: 18446744073709551616"sv,
                            "Content-Length: +5"sv,
                            "Content-Encoding: gzip"sv,
                            "Connection: close, Host"sv,
                            "Connection: Upgrade"sv,
                            "Upgrade: websocket"sv,
                            "Upgrade: h2c"sv,
                            "Sec-WebSocket-Version: 13"sv,
                            "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ=="sv,
                            "Expect: 100-continue"sv,
                            "If-Match: *"sv,
                            "If-Match: \"1\""sv,
                            "If-None-Match: W/\"x\", *"sv,
                            "Prefer: respond-async"sv,
                            "Idempotency-Key: k"sv,
                            "Authorization: Bearer"sv,
                            "Authorization: Basic YTpi"sv,
                            "Authorization: Bearer token of nobody"sv,
                            "Cookie: catwalk-login=1798000000.5f0c12ab34cd56ef.9a410000.77be"sv,
                            "Cookie: ;;;=;catwalk-login"sv,
                            "Accept-Encoding: gzip;q=0, *;q="sv,
                            "Catwalk-User: \xC3\xA4"sv,
                            "Range: bytes=0-0,-1"sv,
                            "X-Forwarded-For: 127.0.0.1"sv};
constexpr std::array bodies{
    "null"sv,
    "[]"sv,
    "{\"why\":\"\\u0000\"}"sv,
    "{\"why\":\"\\ud800\"}"sv,
    "{}\0{}"sv,
    "\xEF\xBB\xBF{}"sv,
    "{\"gain_db\":1e308}"sv,
    "{\"gain_db\":-0.0}"sv,
    "{\"gain_db\":99999999999999999999}"sv,
    "{\"seconds\":-1}"sv,
    "{\"a\":{\"a\":{\"a\":{\"a\":{\"a\":{\"a\":{\"a\":{\"a\":{\"a\":1}}}}}}}}}"sv,
    "{\"why\":\"\x1B[2J\"}"sv,
    "{\"\":1,\"\":2}"sv};
constexpr std::array crumbs{
    "\r\n"sv,     "\r\n\r\n"sv, "\n"sv,       "\r"sv,        "\0"sv, ":"sv,    " "sv,     "\t"sv,
    "HTTP/1.1"sv, "%"sv,        "\xFF\xFE"sv, "0\r\n\r\n"sv, ";"sv,  "\x7F"sv, "\x1B["sv, "..\\"sv};

}  // namespace

Mutator::Mutator(std::uint64_t seed, std::vector<std::string> tokens)
    : random_{seed}, tokens_{std::move(tokens)} {}

std::string Mutator::next() {
  auto request = valid();
  const bool may_end = one_in(64);
  for (auto changes = below(3); changes > 0; --changes) change_meaning(request, may_end);
  return framed(request, false, may_end);
}

std::string Mutator::broken() {
  auto request = valid();
  for (auto changes = below(3); changes > 0; --changes) change_meaning(request, true);
  auto bytes = framed(request, one_in(2), true);
  for (auto breaks = 1 + below(4); breaks > 0; --breaks) break_bytes(bytes);
  return bytes;
}

std::string Mutator::noise(std::size_t longest) {
  std::string text(below(longest) + 1, ' ');
  for (auto& c : text) c = static_cast<char>(below(256));
  return text;
}

Mutator::Request Mutator::valid() {
  const auto& from = any(valid_requests);
  Request request{std::string{from.method}, std::string{from.target}, {"Host: 127.0.0.1"}, {}};
  request.body = from.body;
  if (!request.body.empty()) request.fields.emplace_back("Content-Type: application/json");
  if (!tokens_.empty() && one_in(2))
    request.fields.push_back("Authorization: Bearer " + any(tokens_));
  return request;
}

void Mutator::change_meaning(Request& request, bool may_end) {
  switch (below(6)) {
    case 0:
      request.method = any(methods);
      if (!may_end && !std::ranges::all_of(request.method, [](char c) { return c > 0; }))
        request.method = "OPTIONS";
      return;
    case 1:
      request.target = any(targets);
      return;
    case 2:
      request.target += may_end ? "?x=%zz" : "/" + std::string(below(60), 'a');
      return;
    case 3: {
      // Length and coding are for framed() to say.
      const std::string field{any(fields)};
      const bool ends = field.starts_with("Host") || field.starts_with("Connection: close");
      if (!field.starts_with("Transfer") && !field.starts_with("Content-Length") &&
          (may_end || !ends))
        request.fields.insert(
            request.fields.begin() + static_cast<std::ptrdiff_t>(below(request.fields.size() + 1)),
            field);
      return;
    }
    case 4:
      if (!request.fields.empty())
        request.fields.erase(request.fields.begin() +
                             static_cast<std::ptrdiff_t>(below(request.fields.size())));
      return;
    default:
      change_body(request.body);
  }
}

void Mutator::change_body(std::string& body) {
  if (body.empty() || one_in(4)) {
    body = any(bodies);
    return;
  }
  const auto at = below(body.size());
  switch (below(4)) {
    case 0:
      body.resize(at);
      return;
    case 1:
      body.insert(at, noise(8));
      return;
    case 2:
      body.insert(at, std::string(below(300), one_in(2) ? '[' : '9'));
      return;
    default:
      body[at] = static_cast<char>(below(256));
  }
}

std::string Mutator::framed(const Request& request, bool badly, bool may_end) {
  auto bytes = request.method + ' ' + request.target + " HTTP/1.1\r\n";
  for (const auto& field : request.fields) bytes += field + "\r\n";
  if (badly) bytes += std::string{any(fields)} + "\r\n";
  if (request.body.empty()) return bytes + "\r\n";
  if (!one_in(3)) {
    const auto length = badly ? below(2 * request.body.size()) : request.body.size();
    return bytes + "Content-Length: " + std::to_string(length) + "\r\n\r\n" + request.body;
  }
  bytes += "Transfer-Encoding: chunked\r\n\r\n";
  for (std::string_view rest = request.body; !rest.empty();) {
    const auto piece = rest.substr(0, 1 + below(rest.size()));
    rest.remove_prefix(piece.size());
    char size[20];
    std::snprintf(size, sizeof size, one_in(2) ? "%zx" : "%zX", piece.size());
    bytes += size;
    if (one_in(4)) bytes += ";a=\"" + std::string(below(40), 'b') + '"';
    bytes.append("\r\n").append(piece).append("\r\n");
  }
  bytes += "0\r\n";
  if (badly || may_end) bytes += std::string{any(fields)} + "\r\n";
  return bytes + "\r\n";
}

void Mutator::break_bytes(std::string& bytes) {
  if (bytes.empty()) return;
  const auto at = below(bytes.size());
  const auto length = below(std::min<std::size_t>(bytes.size() - at, 24));
  switch (below(6)) {
    case 0:
      bytes[at] = static_cast<char>(below(256));
      return;
    case 1:
      bytes.erase(at, length + 1);
      return;
    case 2:
      bytes.insert(at, bytes.substr(at, length + 1));
      return;
    case 3:
      bytes.insert(at, any(crumbs));
      return;
    case 4:
      bytes.insert(at, noise(16));
      return;
    default:
      bytes.insert(at, std::string(below(2'000), static_cast<char>(below(256))));
  }
}

}  // namespace catwalk::test
