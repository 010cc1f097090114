// SPDX-License-Identifier: Apache-2.0
#include "web/server/access.hpp"

#include <openssl/crypto.h>

#include <algorithm>

#include "protocol/sha256.hpp"
#include "web/server/problem.hpp"

namespace catwalk::web {
namespace {

// "name:8470" → "name", "[::1]:8470" → "[::1]"
std::string_view without_port(std::string_view host) {
  if (host.starts_with('[')) return host.substr(0, host.find(']') + 1);
  return host.substr(0, host.find(':'));
}

std::string lower_case(std::string_view text) {
  std::string lower{text};
  std::ranges::transform(lower, lower.begin(), [](unsigned char c) {
    return static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  });
  return lower;
}

bool from_our_own_page(const HttpRequest& request) {
  const auto site = request.header("sec-fetch-site");
  if (!site.empty() && site != "same-origin" && site != "none") return false;
  if (!request.has_header("origin")) return true;  // not a browser
  const auto origin = lower_case(request.header("origin"));
  const auto host = lower_case(request.header("host"));
  return origin == "http://" + host || origin == "https://" + host;
}

bool is_json(std::string_view content_type) {
  const auto type = lower_case(content_type.substr(0, content_type.find(';')));
  return type == "application/json" || type == "application/merge-patch+json";
}

// Without tokens everyone is an engineer; who it was is then what the client says of itself.
std::optional<std::string> stated_name(const HttpRequest& request) {
  if (!request.has_header("catwalk-user")) return "local";
  const auto name = request.header("catwalk-user");
  const bool printable =
      std::ranges::all_of(name, [](unsigned char c) { return c >= 0x20 && c < 0x7F; });
  if (name.empty() || name.size() > 64 || !printable) return std::nullopt;
  return std::string{name};
}

}  // namespace

Admission admit(const HttpRequest& request, const Doors& doors, bool upgrade) {
  const auto refuse = [](HttpResponse response) { return Admission{{}, std::move(response)}; };
  if (!request.has_header("host"))
    return refuse(problem(400, "host", "The request has no Host header."));
  const auto host = lower_case(without_port(request.header("host")));
  if (std::ranges::find(doors.hosts, host) == doors.hosts.end())
    return refuse(problem(421, "host",
                          "This rack does not answer to the name \"" + host +
                              "\". Names are added under server.allowed_hosts."));

  const bool writes = request.method != "GET" && request.method != "HEAD";
  if ((writes || upgrade) && !from_our_own_page(request))
    return refuse(problem(403, "origin", "Requests from the pages of another site are refused."));
  if (writes && !request.body.empty() && !is_json(request.header("content-type")))
    return refuse(problem(415, "content-type",
                          "The body has Content-Type \"" +
                              std::string{request.header("content-type")} +
                              "\"; allowed is application/json or application/merge-patch+json."));

  if (doors.tokens.empty()) {
    const auto name = stated_name(request);
    if (!name)
      return refuse(bad_values({{"header/Catwalk-User", std::string{request.header("catwalk-user")},
                                 "1 to 64 printable ASCII characters",
                                 "Catwalk-User is not a name; allowed is 1 to 64 printable ASCII "
                                 "characters."}}));
    return {Caller{*name, Role::engineer}, {}};
  }
  constexpr std::string_view scheme = "bearer ";
  const auto authorization = request.header("authorization");
  if (lower_case(authorization.substr(0, scheme.size())) == scheme) {
    const auto hash = protocol::sha256_hex(authorization.substr(scheme.size()));
    for (const auto& token : doors.tokens)
      if (token.sha256.size() == hash.size() &&
          CRYPTO_memcmp(token.sha256.data(), hash.data(), hash.size()) == 0)
        return {Caller{token.name, token.role}, {}};
  }
  auto response = problem(
      401, "token",
      authorization.empty() ? "A bearer token is needed." : "This token is not known here.");
  response.headers.emplace_back("WWW-Authenticate", "Bearer realm=\"catwalk\"");
  return refuse(std::move(response));
}

}  // namespace catwalk::web
