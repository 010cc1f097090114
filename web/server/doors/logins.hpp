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
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/rack/values/time.hpp"
#include "web/server/http/http.hpp"

namespace catwalk::web {

struct Token {
  std::string name;  // of the person or machine; stands in the journal
  Role role = Role::watch;
  std::string sha256;  // of the token, 64 lower-case hex digits; the token is not kept
};

struct Login {
  std::string id;  // 16 hex digits; tells logins apart, and is no secret
  std::chrono::sys_seconds ends;
  std::string token = {};  // the first 16 digits of its token's digest
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

  // The token that a cookie says it is of, whatever else is wrong with it; null: it says none.
  static const Token* token_of(std::string_view cookie, const std::vector<Token>& tokens);

  // Closed logins are kept until they would have ended. Of a token that has closed more than
  // `most_closed_of_one`, all that were opened until now are over: so no number of them takes more
  // memory, and none is open again.
  static constexpr std::size_t most_closed_of_one = 4'096;
  void close(const Login& login, rack::TimePoint now);
  bool is_open(const Login& login, rack::TimePoint now) const;

  std::chrono::seconds lasts() const { return lasts_; }

 private:
  std::string sign(std::string_view said, const Token& token) const;

  std::string key_;
  std::chrono::seconds lasts_;
  struct Closed {
    std::set<std::pair<std::chrono::sys_seconds, std::string>> by_end;  // and id
    std::chrono::sys_seconds all_until{};  // whoever ends until then is closed as well
  };
  std::map<std::string, Closed> closed_;  // by token
};

}  // namespace catwalk::web
