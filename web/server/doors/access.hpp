// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who may come in: checked before anything is routed. Pure; time is an argument.

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "web/server/doors/logins.hpp"
#include "web/server/http/http.hpp"

namespace catwalk::web {

// A user of this machine, who needs no token on the Unix socket.
struct LocalUser {
  std::string name;
  Role role = Role::watch;
};

struct Doors {
  // Names under which we may be addressed, without port. A page from elsewhere that makes its own
  // name point here (DNS rebinding) is turned away because its name is not among them.
  std::vector<std::string> hosts;
  // Empty: no token is asked for, and everyone is an engineer. Only for loopback.
  std::vector<Token> tokens;
  // Beside those who are trusted there anyway.
  std::vector<LocalUser> local_users = {};
  // Browsers reach us over TLS, ours or that of a proxy before us.
  bool secure = false;
  // Why other machines are served without it; empty if they are not. The page shows it.
  std::string without_tls_because = {};
};

// At the threshold, whoever it is: 400 or 421 for the host, 403 for a page of another site, 415 for
// a body that is not JSON. Nothing: the request may come in, and be asked who it is.
std::optional<HttpResponse> turned_away(const HttpRequest& request, const Doors& doors,
                                        bool upgrade);

// Of a request to go on as a WebSocket: 426 for another version than 13, 400 without a key. RFC
// 6455, sections 4.1 and 4.4.
std::optional<HttpResponse> bad_handshake(const HttpRequest& request);

// Who it is: by bearer token; on the Unix socket by user, where those who are trusted are
// engineers; or by the cookie of a login. Or 401.
struct Admission {
  // What was shown, good or not.
  enum class By { nothing, token, login, user };

  std::optional<Caller> caller;
  std::optional<Login> login;  // if it came by one
  HttpResponse refusal;
  By by = By::nothing;
  std::string token = {};       // its name, or that of the login's token, if it is known
  std::string credential = {};  // by what it was let in: one of credentials_of(doors)
};
Admission identify(const HttpRequest& request, const Doors& doors, const Logins& logins,
                   rack::TimePoint now);

// All by which somebody can be let in, each with its role: when one is not among these any more,
// whoever came by it has to go.
std::set<std::string> credentials_of(const Doors& doors);

// The token whose text this is; null if there is none such.
const Token* find_token(const std::vector<Token>& tokens, std::string_view text);

// Of our own cookie in the request; empty if there is none.
std::string_view login_cookie(const HttpRequest& request, const Doors& doors);
// RFC 6265bis: "__Host-" binds a cookie to this host and to TLS.
std::string_view login_cookie_name(const Doors& doors);

}  // namespace catwalk::web
