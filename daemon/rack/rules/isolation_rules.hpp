// SPDX-License-Identifier: Apache-2.0
#pragma once
// link-margin, as a note: what a measured isolation leaves out. It is from a carrier's e.r.p. to
// the antenna's terminals, all that lay between counted, and so wins over an extra loss of the
// carrier: the weakest level is not lowered once more. Whoever measured without the body in the way
// has to say so in the isolation.

#include <vector>

#include "daemon/rack/levels/carrier_levels.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// Of the carriers that this node serves. At most one.
std::vector<Finding> losses_left_out(const std::vector<CarrierAtAntenna>& carriers,
                                     const plan::Node& node);

// Of a segment, at whatever nodes. At most one; it names no node.
std::vector<Finding> losses_left_out(const plan::Segment& segment);

}  // namespace catwalk::rack
