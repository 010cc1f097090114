// SPDX-License-Identifier: Apache-2.0
#include "config/rack_facts.hpp"

namespace catwalk::config {

const NodeFacts* node_named(const std::string& name, const Cursor& at, const RackFacts& rack) {
  const auto node = rack.nodes.find(name);
  if (node != rack.nodes.end()) return &node->second;
  if (rack.nodes_incomplete) return nullptr;
  std::vector<std::string> known;
  for (const auto& [other, facts] : rack.nodes) known.push_back(other);
  const std::string meant = nearest(name, known);
  at.report_about(in_quotes(name) + " is not the name of a node" +
                      (meant.empty() ? "" : ", did you mean " + in_quotes(meant) + "?"),
                  listed(known));
  return nullptr;
}

}  // namespace catwalk::config
