// SPDX-License-Identifier: Apache-2.0
#include "config/rack_facts.hpp"

namespace catwalk::config {

const NodeFacts* node_named(const std::string& name, const Cursor& at, const RackFacts& rack) {
  const auto node = rack.nodes.find(name);
  if (node != rack.nodes.end()) return &node->second;
  std::vector<std::string> known;
  for (const auto& [other, facts] : rack.nodes) known.push_back(other);
  key_known_or_reported(at, name, "a node", known, rack.nodes_incomplete);
  return nullptr;
}

}  // namespace catwalk::config
