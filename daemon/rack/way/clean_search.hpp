// SPDX-License-Identifier: Apache-2.0
#pragma once
// Is there a clean way in so many steps? For groups too large to try every set.

#include <optional>

#include "daemon/rack/way/way_problem.hpp"

namespace catwalk::rack {

struct CleanWay {
  std::optional<Schedule> schedule;
  bool complete = false;  // searched to the end: where there is no schedule, there is no way
  int branches_left = 0;
};

// Takes at most so many branches.
CleanWay search_clean(const WayProblem& problem, int steps, int branches);

// A node that goes down in two moves does so best with its gain in the first step, one that goes up
// with its gain in the last; see Split.
Schedule::Times times_in(const WayProblem::Node& node, int window, int steps);

}  // namespace catwalk::rack
