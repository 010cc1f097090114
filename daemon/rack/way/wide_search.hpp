// SPDX-License-Identifier: Apache-2.0
#pragma once
// One group of any number of nodes: depth-first, with bounds. See way_search.hpp.

#include "daemon/rack/way/way_problem.hpp"

namespace catwalk::rack {

// Precondition: at least one node.
Solution solve_widely(const WayProblem& problem);

}  // namespace catwalk::rack
