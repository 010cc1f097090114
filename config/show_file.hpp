// SPDX-License-Identifier: Apache-2.0
#pragma once
// A show file: the segments with their lanes, carriers and node settings, and the order they run
// in, checked against the rack that is to play them. Its schema is schemas/show.schema.json.

#include <vector>

#include "config/rack_facts.hpp"
#include "config/reader.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::config {

struct Show {
  std::vector<plan::Segment> segments;
  plan::RunningOrder running_order;
};

// As far as it could be read; what is wrong with the rest has been reported.
Show read_show(const Cursor& root, const RackFacts& rack);

}  // namespace catwalk::config
