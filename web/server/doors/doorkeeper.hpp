// SPDX-License-Identifier: Apache-2.0
#pragma once
// Keeps count of who is turned away, and makes those wait who come with wrong tokens again and
// again. Knows no sockets; time is an argument. For one thread.

#include <cstdint>
#include <string>
#include <vector>

#include "web/server/api/gate.hpp"
#include "web/server/doors/access.hpp"
#include "web/server/doors/bursts.hpp"
#include "web/server/doors/login_route.hpp"
#include "web/server/doors/throttle.hpp"

namespace catwalk::web {

// One request, as far as it matters here.
struct Visit {
  std::string from;  // an address, or a user of this machine
  Throttle::Time now;
  rack::TimePoint wall;
};

class Doorkeeper {
 public:
  // As it was, or 429 in its place.
  Admission weigh(Admission admission, const Visit& visit);
  LoginAnswer weigh(LoginAnswer answer, const Visit& visit);
  // Somebody is known, and asked for what needs another role.
  void role_refused(const Caller& caller, const std::string& needed, const Visit& visit);
  // There was no seat, which was said.
  void no_seat() { ++no_seat_; }

  // Bursts of refusals that are over, for the journal.
  std::vector<rack::TurnedAway> take_bursts(rack::TimePoint now) { return bursts_.take_over(now); }
  bool has_bursts() const { return !bursts_.empty(); }
  Totals figures() const;
  std::uint64_t logins() const { return logins_; }
  // Also those that had to wait first.
  std::uint64_t logins_refused() const { return logins_refused_; }

 private:
  void count(const Admission& admission, const Visit& visit);
  std::optional<std::chrono::seconds> pause(const Admission& admission, const Visit& visit) const;

  Throttle throttle_;
  Bursts bursts_;
  std::uint64_t wrong_tokens_ = 0;
  std::uint64_t bad_logins_ = 0;
  std::uint64_t unknown_users_ = 0;
  std::uint64_t refused_roles_ = 0;
  std::uint64_t paused_ = 0;
  std::uint64_t no_seat_ = 0;
  std::uint64_t logins_ = 0;
  std::uint64_t logins_refused_ = 0;
};

}  // namespace catwalk::web
