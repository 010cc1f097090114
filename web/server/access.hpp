// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who may come in: checked before anything is routed. Pure.

#include <optional>
#include <string>
#include <vector>

#include "web/server/http.hpp"

namespace catwalk::web {

struct Token {
  std::string name;  // of the person or machine; stands in the journal
  Role role = Role::watch;
  std::string sha256;  // of the token, 64 lower-case hex digits; the token is not kept
};

struct Doors {
  // Names under which we may be addressed, without port. A page from elsewhere that makes its own
  // name point here (DNS rebinding) is turned away because its name is not among them.
  std::vector<std::string> hosts;
  // Empty: no token is asked for, and everyone is an engineer. Only for loopback.
  std::vector<Token> tokens;
};

// The caller, or the answer that turns it away: 400 or 421 for the host, 403 for a foreign origin,
// 401 for the token, 415 for a body that is not JSON. `upgrade`: a WebSocket is asked for.
struct Admission {
  std::optional<Caller> caller;
  HttpResponse refusal;
};
Admission admit(const HttpRequest& request, const Doors& doors, bool upgrade);

}  // namespace catwalk::web
