// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who may have how many connections, so that nobody who may only look keeps out who must act. Each
// kind of guest has seats of its own; within them each name has at most a part, and some are kept
// for those who may do more. Pure: counts, and says why there is no seat.
//
//   trusted    root and the daemon's own user, on the Unix socket
//   users      everybody else there
//   strangers  over the network, who have not said who they are: readers of the page's files,
//              health probes, and whoever is about to log in
//   callers    over the network with a token or a login, for requests
//   panels     the same, on the live feed
//
// A connection over the network begins as a stranger's and becomes its token's with the first
// request that shows one. A stranger's seat can always be had from the stranger who was quiet the
// longest, so no number of them keeps the next one out, a health probe for instance.

#include <array>
#include <cstddef>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "web/server/http/http.hpp"

namespace catwalk::web {

enum class Guests { trusted, users, strangers, callers, panels };
constexpr std::size_t kinds_of_guests = 5;

// As whom a seat is held.
struct Holder {
  Guests kind = Guests::strangers;
  // The user, the address, or the name of the token. Empty where nobody is told from another:
  // without tokens.
  std::string name = {};
  Role role = Role::watch;  // of callers and panels
  friend bool operator==(const Holder&, const Holder&) = default;
};

struct Allowance {
  std::size_t all = 0;
  std::size_t of_one = 0;  // of one name
};

struct SeatLimits {
  Allowance trusted{32, 32};
  Allowance users{64, 16};
  Allowance strangers{256, 128};
  Allowance callers{256, 64};
  Allowance panels{768, 256};

  const Allowance& of(Guests kind) const;
  // Callers and panels may fill half of their seats as watchers, three quarters together with
  // operators: the rest is kept for those who may do more.
  std::size_t up_to(Guests kind, Role role) const;
  // The most descriptors that connections take.
  std::size_t all() const;
};

class Seats {
 public:
  explicit Seats(SeatLimits limits) : limits_{limits} {}

  struct Full {
    bool of_name = false;  // this name has all that it may have; else there are no more at all
    std::string sentence;
  };
  // Nothing: there is a seat for one more such.
  std::optional<Full> full(const Holder& newcomer) const;

  void take(const Holder& holder);
  void give_back(const Holder& holder);
  std::size_t taken(Guests kind) const;

  // Would the seat of `other` do for the newcomer, for whom there is none?
  static bool would_do(const Holder& other, const Holder& newcomer, const Full& full);

 private:
  struct Counts {
    std::array<std::size_t, 3> by_role{};
    std::map<std::string, std::size_t, std::less<>> by_name;
  };
  const Counts& counts(Guests kind) const { return counts_[static_cast<std::size_t>(kind)]; }
  Counts& counts(Guests kind) { return counts_[static_cast<std::size_t>(kind)]; }
  // Of those who may do this, or less.
  std::size_t taken_up_to(Guests kind, Role role) const;
  std::size_t taken_by(const Holder& holder) const;

  SeatLimits limits_;
  std::array<Counts, kinds_of_guests> counts_;
};

}  // namespace catwalk::web
