// SPDX-License-Identifier: Apache-2.0
#pragma once
// A show file: the segments with their lanes, carriers and node settings, checked against the rack
// that is to play them. Its schema is schemas/show.schema.json.

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "config/reader.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::config {

constexpr std::size_t most_segments = 64;
constexpr std::size_t most_carriers = 512;  // in a segment
constexpr std::size_t most_lanes = 128;     // in a segment
constexpr std::size_t longest_label = 16;   // bytes of UTF-8 that a node keeps

// What a show needs to know of a node. Null and absent: the rack file is wrong there, which has
// been reported, so that the show is not blamed for it.
struct NodeFacts {
  std::shared_ptr<const plan::Datasheet> datasheet;
  std::optional<plan::GainLimits> gain_limits;
};

// Incomplete: some have no name of their own, which has been reported. A name that is not found
// among the others may have been meant for one of those, and is not reported as well.
struct RackFacts {
  std::map<std::string, NodeFacts> nodes;
  bool nodes_incomplete = false;
  std::vector<std::string> receivers;
  bool receivers_incomplete = false;
};

// The segments as far as they could be read; what is wrong with the rest has been reported.
std::vector<plan::Segment> read_show(const Cursor& root, const RackFacts& rack);

}  // namespace catwalk::config
