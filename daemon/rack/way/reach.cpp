// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/reach.hpp"

#include <algorithm>

namespace catwalk::rack {

// What this antenna brings, as far as its cable goes.
Paths Reach::by(const plan::NodeName& name, const rf::Band& band) const {
  const auto found = std::ranges::find(nodes_, name, [](const auto& it) { return it.node->name; });
  if (found == nodes_.end()) return never();
  const auto& node = *found;
  const auto brings = [&](bool late) {
    const auto passes = [&](const std::optional<plan::Settings>& settings) {
      return node.surely_passes(settings, band) ? always() : never();
    };
    if (!node.mover) return passes(node.old_settings(late));
    return switched(*node.mover, passes(node.old_settings(late)), passes(node.new_settings(late)));
  };
  if (!node.matrix || !node.supply_moves()) return brings(false);
  return switched(*node.matrix, brings(false), brings(true));
}

Paths Reach::by_any(const std::vector<plan::NodeName>& nodes, const rf::Band& band) const {
  Paths paths = never();
  for (const auto& name : nodes) paths = either(paths, by(name, band));
  return paths;
}

Paths Reach::to(std::size_t receiver, const rf::Band& band) const {
  struct Outputs {
    Paths before = never();
    Paths after = never();
  };
  Paths all = never();
  std::map<std::size_t, Outputs> at_once;  // by their matrix
  const auto& before = now_.receivers[receiver].branches;
  const auto& after = then_.receivers[receiver].branches;
  for (std::size_t i = 0; i < before.size(); ++i) {
    const auto old_paths = by_any(before[i].nodes, band);
    if (before[i].nodes == after[i].nodes) {
      all = either(all, old_paths);
      continue;
    }
    const auto& matrix = before[i].from->matrix;
    const auto mover = matrices_.at(matrix);
    const auto new_paths = by_any(after[i].nodes, band);
    if (now_.find_matrix(matrix)->sheet->applies == plan::Applies::at_once) {
      auto& outputs = at_once[mover];
      outputs = {either(outputs.before, old_paths), either(outputs.after, new_paths)};
    } else {
      all = either(all, switched(mover, old_paths, new_paths));
    }
  }
  for (const auto& [mover, outputs] : at_once)
    all = either(all, switched(mover, outputs.before, outputs.after));
  return all;
}

}  // namespace catwalk::rack
