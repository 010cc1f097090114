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
  enum class At { node, lead, feed, branch } at = At::node;
  std::size_t place = 0;   // of the node, or of the receiver, in the plan
  std::size_t branch = 0;  // of a receiver
  std::size_t number = 0;  // in that chain; of a branch counted from the receiver, since what a
                           // matrix puts in front of it may be other things
  friend auto operator<=>(const AmplifierKey&, const AmplifierKey&) = default;
};

class AmplifierKeys {
 public:
  explicit AmplifierKeys(const plan::RackPlan& plan);
  // `node`: its place, for its own amplifier.
  AmplifierKey of(const AmplifierOnTheWay& amplifier, std::size_t node) const;

 private:
  std::unordered_map<const plan::RackAmplifier*, AmplifierKey> keys_;
};

// One amplifier and all that meets in it.
struct Meeting {
  AmplifierOnTheWay amplifier;
  const plan::Node* owner = nullptr;  // null: it is the rack's
  double start = 0.0;                 // with the carriers of each end, mW
  double end = 0.0;
  Powers powers;
  // What an output of a matrix that moves brings by its old routes and by its new ones: it takes
  // these or those, never some of both.
  std::optional<std::size_t> matrix = {};
  Powers by_old_routes = {};
  Powers by_new_routes = {};
};
using Meetings = std::map<AmplifierKey, Meeting>;

void add(Powers& all, Powers more);
// `before` until the matrix has begun to move, `after` once it is there.
Powers forked(std::size_t matrix, Powers before, Powers after);
// One antenna by the old and by the new routes of its matrix.
void add_switched(Meeting& meeting, const AmplifierKey& key, std::size_t matrix, Powers before,
                  Powers after);
// With what its output brings among the powers.
Meeting whole(Meeting meeting);

}  // namespace catwalk::rack
