// SPDX-License-Identifier: Apache-2.0
#pragma once
// /api/v1/session: who am I, log in, log out. It stands before the API, since whoever asks may be
// nobody yet.

#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "web/server/doors/access.hpp"

namespace catwalk::web {

inline constexpr std::string_view session_path = "/api/v1/session";

struct LoginAnswer {
  HttpResponse response;
  std::optional<Login> closed;  // a login that has just ended: its feeds have to end too
  Admission admission;          // who it is, or was not
  bool tried = false;           // a token was shown to log in
};

// `random_id`: 16 hex digits, never the same.
//
//   GET     200 {"name":"Ana","role":"operate","tokens":true,"secure":true,"expires_at":"…"} or 401
//   POST    {"token":"…"}: 200 the same, with a cookie that scripts cannot read; 401; 422
//   DELETE  204, and the login is over
LoginAnswer answer_session(const HttpRequest& request, const Doors& doors, Logins& logins,
                           rack::TimePoint now, const std::function<std::string()>& random_id);

}  // namespace catwalk::web
