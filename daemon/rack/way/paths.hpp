// SPDX-License-Identifier: Apache-2.0
#pragma once
// Paths put together, for whoever makes the puzzle of way_problem.hpp: over what carriers come to a
// receiver. One antenna's amplifier, one output of a matrix, all branches of a receiver.
//
//   an antenna that passes them before only     switched(node, always(), never())
//   one without supply before, not moving       switched(matrix, always(), in the window or not)
//   an output of a matrix                       switched(matrix, either(old routes …), either(new
//   …)) a receiver                                  either(its branches …)

#include <optional>
#include <vector>

#include "daemon/rack/way/way_problem.hpp"

namespace catwalk::rack {

// Any of them brings the carriers. In order, each once, and none that needs all that another one
// does and more.
using Paths = std::vector<Path>;

Paths always();  // one path, without conditions
Paths never();   // none

// By one or by the other.
Paths either(const Paths& some, const Paths& others);

// By `before` as long as the mover has not begun to move, by `after` once it is there. While it is
// in flight it is in one of both, so the carriers come if both bring them; hence paths that do not
// ask where it is, but have the conditions of one from `before` and of one from `after`. Of these,
// no more than `most_meanwhile` are made, those with the fewest conditions: with fewer paths the
// way is taken to be darker than it is, never brighter.
Paths switched(std::size_t mover, const Paths& before, const Paths& after);
inline constexpr std::size_t most_meanwhile = 64;

// The constraint. Nothing: the carriers come whatever the order, or do not come at an end, and then
// the way is no worse.
std::optional<Heard> heard_by(const Paths& paths, int weight);

}  // namespace catwalk::rack
