// SPDX-License-Identifier: Apache-2.0
#pragma once
// Pauses for who comes with wrong tokens or logins again and again. By address, and by the name of
// the token where one is known: 5 tries are free, then each wrong one is followed by a pause,
//
//   1, 2, 4, 8, 16, 32, 60, 60 … s
//
// in which others are not even looked at. After ten quiet minutes all is forgotten.
//
// Nobody who works is locked out by it: a login proves itself, and so does a token that was used
// from the same address before; both pass at any time. Behind a proxy everybody comes from one
// address, and only who comes there with a token for the first time has to wait. So a pause does
// not slow down guesses at tokens that are in use there: 256 random bits do that. It bounds what
// guesses cost us.
//
// Bounded: of more addresses than fit, the one that was quiet the longest is forgotten. Pure: time
// is an argument. For one thread.

#include <chrono>
#include <cstddef>
#include <optional>
#include <string>

#include "web/server/doors/recent.hpp"

namespace catwalk::web {

class Throttle {
 public:
  using Time = std::chrono::steady_clock::time_point;
  static constexpr unsigned free_tries = 5;
  static constexpr std::chrono::seconds longest_pause{60};
  static constexpr std::chrono::seconds forgotten_after{600};
  static constexpr std::size_t most_keys = 4'096;

  // How long is left of the pause; nothing: there is none. `key`: an address, or a token's name.
  std::optional<std::chrono::seconds> pause(const std::string& key, Time now) const;
  void wrong(const std::string& key, Time now);

  void right(const std::string& address, const std::string& token);
  bool was_right(const std::string& address, const std::string& token) const;

 private:
  struct Tries {
    unsigned wrong = 0;
    Time last{};
    Time until{};
  };
  static std::string pair(const std::string& address, const std::string& token);

  Recent<Tries> tries_{most_keys};
  Recent<bool> right_{most_keys};
};

}  // namespace catwalk::web
