// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the antennas bring to each amplifier during a switch, whatever has moved by then.

#include <vector>

#include "daemon/rack/way/meetings.hpp"
#include "daemon/rack/way/node_on_the_way.hpp"
#include "daemon/rack/way/reach.hpp"
#include "daemon/rack/way/way.hpp"

namespace catwalk::rack {

// `then`: with every matrix where it is moved to; `nodes`: of the plan, in its order; `between`:
// for each of them the segment that holds meanwhile.
Meetings powers_met(const SwitchTask& task, const plan::RackPlan& then,
                    const std::vector<NodeOnTheWay>& nodes, const Reach::MovingMatrices& matrices,
                    const std::vector<plan::Segment>& between);

}  // namespace catwalk::rack
