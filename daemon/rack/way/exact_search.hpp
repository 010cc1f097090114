// SPDX-License-Identifier: Apache-2.0
#pragma once
// One group of few nodes: every way there is. See way_search.hpp.

#include <cstddef>

#include "daemon/rack/way/way_problem.hpp"

namespace catwalk::rack {

inline constexpr std::size_t exact_nodes = 12;

// Precondition: at least one node, and at most `exact_nodes`.
Solution solve_exactly(const WayProblem& problem);

}  // namespace catwalk::rack
