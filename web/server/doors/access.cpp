// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/access.hpp"

#include <openssl/crypto.h>

#include <algorithm>

#include "daemon/base/sha256.hpp"
#include "daemon/base/text.hpp"
#include "web/server/http/host.hpp"
#include "web/server/http/input.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

bool is_of_another_site(const HttpRequest& request) {
  const auto site = request.header("sec-fetch-site");
  return !site.empty() && site != "same-origin" && site != "none";
}

bool from_our_own_page(const HttpRequest& request) {
  if (is_of_another_site(request)) return false;
  if (!request.has_header("origin")) return true;  // not a browser
  const auto origin = lower_case(request.header("origin"));
  const auto host = lower_case(request.header("host"));
  return origin == "http://" + host || origin == "https://" + host;
}

// What a page of another site may make a browser do with us: follow a link to here, and look at it
// as a person. Not load what we tell, not even unseen.
bool is_followed_link(const HttpRequest& request) {
  return request.header("sec-fetch-mode") == "navigate" &&
         request.header("sec-fetch-dest") == "document";
}

bool is_json(std::string_view content_type) {
  const auto type = lower_case(content_type.substr(0, content_type.find(';')));
  return type == "application/json" || type == "application/merge-patch+json";
}

std::string credential_of(const Token& token) {
  return "token " + std::string{name_of(token.role)} + ' ' + token.sha256 + ' ' + token.name;
}
std::string credential_of(const std::string& user, Role role) {
  return "user " + std::string{name_of(role)} + ' ' + user;
}
const std::string trusted = "trusted";
const std::string anybody = "anybody";

Admission let_in(const Token& token, Admission::By by, std::optional<Login> login = {}) {
  return {
      Caller{token.name, token.role}, std::move(login), {}, by, token.name, credential_of(token)};
}

std::optional<Role> role_of(const Peer& peer, const Doors& doors) {
  if (peer.trusted) return Role::engineer;
  const auto user = std::ranges::find(doors.local_users, peer.name, &LocalUser::name);
  if (user == doors.local_users.end()) return std::nullopt;
  return user->role;
}

// Without tokens everyone is an engineer; who it was is then what the client says of itself, where
// the system says nothing.
std::optional<std::string> stated_name(const HttpRequest& request) {
  if (request.peer) return request.peer->name;
  if (!request.has_header("catwalk-user")) return "local";
  // A browser sends no other letters than those of Latin 1, so that whoever is called otherwise is
  // sent in escapes.
  const auto said = request.header("catwalk-user");
  auto name = percent_decoded(said).value_or(std::string{said});
  if (trimmed(name).empty() || name.size() > longest_name || !is_plain_text(name))
    return std::nullopt;
  return name;
}

}  // namespace

std::optional<HttpResponse> turned_away(const HttpRequest& request, const Doors& doors,
                                        bool upgrade) {
  if (!request.has_header("host")) return problem(400, "host", "The request has no Host header.");
  const auto host = host_name(request.header("host"));
  if (!host)
    return problem(400, "host",
                   "The Host header is \"" + std::string{request.header("host")} +
                       "\"; allowed is a name, an IPv4 address, or an IPv6 address in brackets, "
                       "and a port.");
  if (std::ranges::find(doors.hosts, *host) == doors.hosts.end())
    return problem(421, "host",
                   "This rack does not answer to the name \"" + *host +
                       "\". Names are added under server.allowed_hosts.");

  const bool reads = request.method == "GET" || request.method == "HEAD";
  const bool welcome = reads && !upgrade ? !is_of_another_site(request) || is_followed_link(request)
                                         : from_our_own_page(request);
  if (!welcome)
    return problem(403, "origin", "Requests from the pages of another site are refused.");
  if (!reads && !request.body.empty() && !is_json(request.header("content-type")))
    return problem(415, "content-type",
                   "The body has Content-Type \"" + std::string{request.header("content-type")} +
                       "\"; allowed is application/json or application/merge-patch+json.");
  return std::nullopt;
}

std::optional<HttpResponse> bad_handshake(const HttpRequest& request) {
  if (request.header("sec-websocket-version") != "13") {
    auto response = problem(426, "upgrade", "The live feed speaks version 13 of WebSocket.");
    response.headers.emplace_back("Upgrade", "websocket");
    response.headers.emplace_back("Sec-WebSocket-Version", "13");
    return response;
  }
  // 16 bytes in base64.
  const auto key = request.header("sec-websocket-key");
  if (key.size() == 24 && key.ends_with("==")) return std::nullopt;
  return problem(400, "upgrade", "Sec-WebSocket-Key is not 16 bytes in base64.");
}

Admission identify(const HttpRequest& request, const Doors& doors, const Logins& logins,
                   rack::TimePoint now) {
  using By = Admission::By;
  const auto refuse = [](HttpResponse response, By by, std::string token = {}) {
    return Admission{{}, {}, std::move(response), by, std::move(token), {}};
  };
  if (doors.tokens.empty()) {
    const auto name = stated_name(request);
    if (!name)
      return refuse(bad_values({{"header/Catwalk-User", std::string{request.header("catwalk-user")},
                                 "1 to 64 bytes of UTF-8 without control or format characters",
                                 "Catwalk-User is not a name; allowed is 1 to 64 bytes of UTF-8 "
                                 "without control or format characters."}}),
                    By::nothing);
    const bool stays = request.peer && request.peer->trusted;
    return {Caller{*name, Role::engineer}, {}, {}, By::nothing, {}, stays ? trusted : anybody};
  }
  const auto unknown = [&](const std::string& sentence, By by, std::string token = {}) {
    auto response = problem(401, "token", sentence);
    response.headers.emplace_back("WWW-Authenticate", "Bearer realm=\"catwalk\"");
    return refuse(std::move(response), by, std::move(token));
  };
  constexpr std::string_view scheme = "bearer ";
  const auto authorization = request.header("authorization");
  if (!authorization.empty()) {
    const auto* token = lower_case(authorization.substr(0, scheme.size())) == scheme
                            ? find_token(doors.tokens, authorization.substr(scheme.size()))
                            : nullptr;
    if (token == nullptr) return unknown("This token is not known here.", By::token);
    return let_in(*token, By::token);
  }
  if (request.peer) {
    const auto role = role_of(*request.peer, doors);
    if (!role)
      return unknown("The user \"" + request.peer->name +
                         "\" is not among the local_users of this rack, and has sent no token.",
                     By::user);
    return {Caller{request.peer->name, *role},
            {},
            {},
            By::user,
            {},
            request.peer->trusted ? trusted : credential_of(request.peer->name, *role)};
  }
  const auto cookie = login_cookie(request, doors);
  if (cookie.empty()) return unknown("A bearer token is needed.", By::nothing);
  auto checked = logins.check(cookie, doors.tokens, now);
  if (!checked) {
    const auto* token = Logins::token_of(cookie, doors.tokens);
    return unknown("This login is over. Log in again.", By::login,
                   token == nullptr ? std::string{} : token->name);
  }
  return let_in(*checked->token, By::login, std::move(checked->login));
}

std::set<std::string> credentials_of(const Doors& doors) {
  if (doors.tokens.empty()) return {anybody, trusted};
  std::set<std::string> all{trusted};
  for (const auto& token : doors.tokens) all.insert(credential_of(token));
  for (const auto& user : doors.local_users) all.insert(credential_of(user.name, user.role));
  return all;
}

const Token* find_token(const std::vector<Token>& tokens, std::string_view text) {
  const auto hash = sha256_hex(text);
  for (const auto& token : tokens)
    if (token.sha256.size() == hash.size() &&
        CRYPTO_memcmp(token.sha256.data(), hash.data(), hash.size()) == 0)
      return &token;
  return nullptr;
}

std::string_view login_cookie_name(const Doors& doors) {
  return doors.secure ? "__Host-catwalk-login" : "catwalk-login";
}

// RFC 6265, section 4.2.1: "name=value; name=value".
std::string_view login_cookie(const HttpRequest& request, const Doors& doors) {
  auto rest = request.header("cookie");
  const auto name = login_cookie_name(doors);
  while (!rest.empty()) {
    auto pair = rest.substr(0, rest.find(';'));
    rest.remove_prefix(std::min(rest.size(), pair.size() + 1));
    pair.remove_prefix(std::min(pair.size(), pair.find_first_not_of(' ')));
    if (pair.starts_with(name) && pair.substr(name.size()).starts_with('='))
      return pair.substr(name.size() + 1);
  }
  return {};
}

}  // namespace catwalk::web
