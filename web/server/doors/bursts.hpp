// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who was turned away, in groups: the journal has one row for a burst, however many tries are in
// it. A burst is over when nothing of it came for ten seconds, or after a minute; what comes then
// begins another. Pure: time is an argument. For one thread.

#include <chrono>
#include <cstddef>
#include <string>
#include <vector>

#include "daemon/rack/core/event.hpp"

namespace catwalk::web {

class Bursts {
 public:
  static constexpr std::chrono::seconds quiet{10};
  static constexpr std::chrono::seconds longest{60};
  // Of more than these at once, the rest are told together, as from elsewhere.
  static constexpr std::size_t most = 64;

  void add(const std::string& who, const std::string& from, const std::string& why,
           rack::TimePoint now);
  // Those that are over. They are told once.
  std::vector<rack::TurnedAway> take_over(rack::TimePoint now);
  bool empty() const { return open_.empty(); }

 private:
  struct Burst {
    rack::TurnedAway told;
    rack::TimePoint last;
  };
  std::vector<Burst> open_;
};

}  // namespace catwalk::web
