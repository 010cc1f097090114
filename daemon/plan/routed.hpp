// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who hears through whom, where a matrix decides that.

#include "daemon/plan/rack_plan.hpp"

namespace catwalk::plan {

// The plan as its matrices are set: branches that begin at an output have the nodes whose feeds end
// at its inputs, and the unit in their chains; the feeds of these nodes have the trims. So all that
// looks at branches and feeds looks through the routes. An output that takes nothing at which an
// antenna ends leaves its branch without nodes.
//
// `plan` as it was read: with branches and feeds up to the units.
RackPlan routed(RackPlan plan);

}  // namespace catwalk::plan
