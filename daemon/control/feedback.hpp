// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who is told the state of the rack, and when. States are squashed: whoever is told, is told the
// newest. The same to all, so the rate is looked after once.

#include <chrono>
#include <cstddef>
#include <optional>
#include <vector>

#include "daemon/control/peer.hpp"
#include "daemon/rack/values/snapshot.hpp"
#include "protocol/bytes.hpp"

namespace catwalk::control {

using Steady = std::chrono::steady_clock::time_point;

struct Transmission {
  Peer to;
  protocol::Bytes bytes;
};

class Feedback {
 public:
  // Between two states.
  static constexpr std::chrono::milliseconds shortest_pause{50};
  // A state that does not change is told again after this, since a datagram may get lost.
  static constexpr std::chrono::seconds longest_pause{10};
  // A subscription that is not renewed ends.
  static constexpr std::chrono::seconds subscription_lasts{60};
  // Besides those configured.
  static constexpr std::size_t most_subscribers = 64;

  // `configured` never expire.
  explicit Feedback(const std::vector<Peer>& configured);

  // Begins or renews; is told the state at the next look. False: there are too many.
  bool subscribe(const Peer& peer, Steady now);
  // False: it was none, or is configured.
  bool unsubscribe(const Peer& peer);
  // There is a newer snapshot.
  void changed() { changed_ = true; }

  // What to send now.
  std::vector<Transmission> look(const rack::Snapshot& snapshot, Steady now);
  // When to look next; absent: nobody listens.
  std::optional<Steady> deadline() const;

 private:
  struct Subscriber {
    Peer peer;
    std::optional<Steady> until;  // absent: for ever
    std::optional<Steady> told_at;
    bool behind = true;  // the last state was not told it
  };

  std::vector<Subscriber> subscribers_;
  protocol::Bytes state_;  // as last written
  bool changed_ = true;
  Steady compared_{};
};

}  // namespace catwalk::control
