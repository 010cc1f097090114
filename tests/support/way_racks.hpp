// SPDX-License-Identifier: Apache-2.0
#pragma once
// Racks between two segments, for the planner of the way: random ones that are hard on it, and one
// as large as is asked for. Invented; the same for the same numbers.

#include "daemon/rack/way/way.hpp"

namespace catwalk::test {

// A plan and what moves in it. The task points into the plan.
struct Crossing {
  plan::RackPlan plan;  // segments "before" and "after"
  std::vector<rack::NodeEnds> nodes;
  rack::SwitchTask task() const {
    return {plan, plan.segments.front(), plan.segments.back(), nodes, false};
  }
};

// 2 to `most` nodes in receivers that share antennas, combiners with an amplifier behind them,
// carriers that stay, come, go and move, own transmitters near and far.
Crossing random_crossing(int most, unsigned seed);

// All nodes in one chain of receivers: each shares its antennas with the next, so that nothing
// falls apart into groups. Full physics: chains, 120 carriers, amplifiers. `nodes` at least 4.
Crossing long_crossing(int nodes, unsigned seed);

}  // namespace catwalk::test
