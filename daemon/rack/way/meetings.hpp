// SPDX-License-Identifier: Apache-2.0
#pragma once
// Amplifiers in which the powers of several antennas meet, found again behind other routes.

#include <compare>
#include <cstddef>
#include <map>
#include <optional>
#include <unordered_map>

#include "daemon/rack/way/loudness.hpp"
#include "daemon/rack/way/way_problem.hpp"

namespace catwalk::rack {

// Which amplifier of the rack: the same one in plans that are routed differently.
struct AmplifierKey {
  enum class At { node, lead, feed, arm, branch } at = At::node;
  std::size_t place = 0;   // of the node, or of the receiver, in the plan
  std::size_t branch = 0;  // of a receiver
  std::size_t number = 0;  // in that chain; of an arm and of a branch counted from the receiver,
                           // since what a matrix puts in front of it may be other things
  plan::OutputOf by = {};  // of an arm: its matrix's
  friend auto operator<=>(const AmplifierKey&, const AmplifierKey&) = default;
};

class AmplifierKeys {
 public:
  explicit AmplifierKeys(const plan::RackPlan& plan);
  // `node`: its place, for its own amplifier.
  AmplifierKey of(const AmplifierOnTheWay& amplifier, std::size_t node) const;

 private:
  void add(const plan::Chain& chain, AmplifierKey key);
  void add_from_end(const plan::Chain& chain, AmplifierKey key, std::size_t first,
                    std::size_t last);

  std::unordered_map<const plan::RackAmplifier*, AmplifierKey> keys_;
};

// One amplifier and all that meets in it.
struct Meeting {
  AmplifierOnTheWay amplifier;
  const plan::Node* owner = nullptr;  // null: it is the rack's
  double start = 0.0;                 // with the carriers of each end, mW
  double end = 0.0;
  Powers powers;
  // What comes by the output of a matrix that the branch begins at: by its old routes or by its new
  // ones, never by some of both. What comes there by an output of another that moves likewise.
  struct Before {
    std::size_t matrix = 0;
    Powers by_old_routes = {};
    Powers by_new_routes = {};
  };
  struct Routes {
    Powers direct = {};
    std::map<plan::OutputOf, Before> before = {};
  };
  std::optional<std::size_t> matrix = {};  // absent: it stays, and all stands in the old routes
  Routes by_old_routes = {};
  Routes by_new_routes = {};
};
using Meetings = std::map<AmplifierKey, Meeting>;

void add(Powers& all, Powers more);
// `before` until the matrix has begun to move, `after` once it is there.
Powers forked(std::size_t matrix, Powers before, Powers after);
// With what its output brings among the powers.
Meeting whole(Meeting meeting);

}  // namespace catwalk::rack
