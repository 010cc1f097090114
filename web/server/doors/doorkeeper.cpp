// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/doorkeeper.hpp"

#include <algorithm>
#include <utility>

#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

// Addresses and names of tokens are not taken for each other.
std::string at(const std::string& address) { return "at " + address; }
std::string of(const std::string& token) { return "of " + token; }

HttpResponse wait_first(const std::string& from, std::chrono::seconds pause) {
  return passing_problem(429, "too-many-wrong",
                         "Too many wrong tokens or logins came from " + from + ". Try again in " +
                             std::to_string(pause.count()) +
                             " s; who is at work with a good one already is not held up.",
                         pause);
}

}  // namespace

Admission Doorkeeper::weigh(Admission admission, const Visit& visit) {
  const bool right = admission.caller.has_value();
  // A login proves itself, and the system vouches for its users.
  if (right && admission.by != Admission::By::token) return admission;
  if (admission.by == Admission::By::nothing) return admission;
  const bool at_work = right && throttle_.was_right(visit.from, admission.token);
  if (const auto left = pause(admission, visit); left && !at_work) {
    // A right one is no wrong one; but whoever guesses is not to be told.
    if (!right) count(admission, visit);
    ++paused_;
    return {{}, {}, wait_first(visit.from, *left), admission.by, {}, {}};
  }
  if (right) {
    throttle_.right(visit.from, admission.token);
    return admission;
  }
  count(admission, visit);
  throttle_.wrong(at(visit.from), visit.now);
  if (!admission.token.empty()) throttle_.wrong(of(admission.token), visit.now);
  return admission;
}

LoginAnswer Doorkeeper::weigh(LoginAnswer answer, const Visit& visit) {
  const bool was_right = answer.admission.caller.has_value();
  answer.admission = weigh(std::move(answer.admission), visit);
  const bool is_right = answer.admission.caller.has_value();
  if (answer.tried) ++(is_right ? logins_ : logins_refused_);
  // With the answer goes its cookie.
  if (answer.admission.refusal.status == 429 || was_right != is_right)
    answer.response = answer.admission.refusal;
  return answer;
}

void Doorkeeper::role_refused(const Caller& caller, const std::string& needed, const Visit& visit) {
  ++refused_roles_;
  bursts_.add(caller.name, visit.from, needed, visit.wall);
}

Totals Doorkeeper::figures() const {
  return {{"wrong_tokens", wrong_tokens_},
          {"bad_logins", bad_logins_},
          {"unknown_users", unknown_users_},
          {"refused_roles", refused_roles_},
          {"paused", paused_},
          {"no_place", no_seat_}};
}

void Doorkeeper::count(const Admission& admission, const Visit& visit) {
  const auto tell = [&](std::uint64_t& counter, const char* why) {
    ++counter;
    bursts_.add(admission.token, visit.from, why, visit.wall);
  };
  switch (admission.by) {
    case Admission::By::nothing:
      return;
    case Admission::By::token:
      return tell(wrong_tokens_, "the token is not known");
    case Admission::By::login:
      return tell(bad_logins_, "the login is over, closed or forged");
    case Admission::By::user:
      return tell(unknown_users_, "the user is not among the local_users");
  }
}

std::optional<std::chrono::seconds> Doorkeeper::pause(const Admission& admission,
                                                      const Visit& visit) const {
  const auto here = throttle_.pause(at(visit.from), visit.now);
  if (admission.token.empty() || admission.caller) return here;
  return std::max(here, throttle_.pause(of(admission.token), visit.now));
}

}  // namespace catwalk::web
