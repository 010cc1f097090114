// SPDX-License-Identifier: Apache-2.0
#pragma once
// Which carriers of a segment come through a node: those that it has to bring, and what its window
// makes of all of them. The rules word the same as findings.

#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/plan/settings.hpp"

namespace catwalk::rack {

// Names in the order of the segment.
using CarrierNames = std::vector<plan::CarrierName>;

// A receiver that has to hear the carrier stands behind the node.
bool has_to_bring(const plan::RackPlan& plan, const plan::NodeName& node,
                  const plan::Carrier& carrier);
// All of these.
CarrierNames own_carriers(const plan::RackPlan& plan, const plan::Segment& segment,
                          const plan::NodeName& node);

struct WindowOnCarriers {
  CarrierNames passed;   // all of each, surely, whosever they are
  CarrierNames outside;  // own ones that are not surely passed
  CarrierNames let_in;   // the show's own transmitters of which any part may come in
};
// Without power it passes everything. Settings that are not of its type pass nothing that is known.
// `own`: of this node in this segment. Cheap: every reading asks.
WindowOnCarriers window_on(const plan::Segment& segment, const CarrierNames& own,
                           const plan::Datasheet& datasheet, const plan::Settings& in_force);

}  // namespace catwalk::rack
