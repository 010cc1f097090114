// SPDX-License-Identifier: Apache-2.0
#pragma once
// Logins of people at a page. A token is traded once for a cookie that proves itself: what it says
// is signed with a key that outlives the daemon, so that a restart in the show logs nobody out.
//
//   "1798000000.5f0c12ab34cd56ef.9a41…(16).77be…(64)"
//    ends (s)    id              token      HMAC-SHA-256 over the rest and the token's whole digest
//
// It ends at its time, when its token leaves the rack file, or when the key is thrown away; and for
// as long as this process lives when it is closed: whoever has kept a copy of the cookie can use
// that again after a restart. Pure: time is an argument. For one thread.

#include <chrono>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/rack/time.hpp"
#include "web/server/http.hpp"

namespace catwalk::web {

struct Token {
  std::string name;  // of the person or machine; stands in the journal
  Role role = Role::watch;
  std::string sha256;  // of the token, 64 lower-case hex digits; the token is not kept
};

struct Login {
  std::string id;  // 16 hex digits; tells logins apart, and is no secret
  std::chrono::sys_seconds ends;
  friend bool operator==(const Login&, const Login&) = default;
};

class Logins {
 public:
  // `key`: at least 32 random bytes. `lasts` > 0.
  Logins(std::string key, std::chrono::seconds lasts);

  struct Opened {
    std::string cookie;
    Login login;
  };
  // `id`: 16 random hex digits, never given before.
  Opened open(const Token& token, std::string id, rack::TimePoint now) const;

  struct Checked {
    Login login;
    const Token* token = nullptr;  // one of `tokens`
  };
  // Nothing if it is malformed, forged, over, closed, or of a token that is not among these.
  std::optional<Checked> check(std::string_view cookie, const std::vector<Token>& tokens,
                               rack::TimePoint now) const;

  void close(const Login& login, rack::TimePoint now);
  bool is_open(const Login& login, rack::TimePoint now) const;

  std::chrono::seconds lasts() const { return lasts_; }

 private:
  std::string sign(std::string_view said, const Token& token) const;

  std::string key_;
  std::chrono::seconds lasts_;
  std::map<std::string, std::chrono::sys_seconds> closed_;  // by id, until they would have ended
};

}  // namespace catwalk::web
