// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a show needs to know of the rack that is to play it: which names there are.

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "config/reader.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::config {

constexpr std::size_t most_named_nodes = 512;

// Null and absent: the rack file is wrong there, which has been reported, so that the show is not
// blamed for it.
struct NodeFacts {
  std::shared_ptr<const plan::Datasheet> datasheet;
  std::optional<plan::GainLimits> gain_limits;
  bool ends_at_matrix = false;  // its feed; else it may be named in a branch
};

// Null: its datasheet is wrong, which has been reported.
struct MatrixFacts {
  std::shared_ptr<const plan::MatrixSheet> sheet;
  bool set_from_here = false;
};

// Incomplete: some have no name of their own, which has been reported. A name that is not found
// among the others may have been meant for one of those, and is not reported as well.
struct RackFacts {
  std::map<std::string, NodeFacts> nodes;
  bool nodes_incomplete = false;
  std::map<std::string, MatrixFacts> matrices = {};
  bool matrices_incomplete = false;
  std::vector<std::string> receivers;
  bool receivers_incomplete = false;
};

// The node of this name, as the member `at` is named by it. Null if there is none, which is
// reported, or nobody can know.
const NodeFacts* node_named(const std::string& name, const Cursor& at, const RackFacts& rack);

}  // namespace catwalk::config
