// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/reach.hpp"

#include <algorithm>

#include "daemon/plan/routed.hpp"

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

Paths Reach::by_inputs(const plan::NodeName& matrix, const plan::Inputs& inputs,
                       const rf::Band& band, const Granted& granted) const {
  Paths paths = never();
  for (const auto input : inputs) {
    const plan::InputOf at{matrix, input};
    if (const auto* node = plan::at_input(now_, at)) paths = either(paths, by(node->name, band));
    if (const auto before = plan::before_input(now_, at))
      paths = either(paths, by_output(before->by(), band, granted));
  }
  return paths;
}

Paths Reach::by_output(const plan::OutputOf& output, const rf::Band& band,
                       const Granted& granted) const {
  const auto* before = now_.find_matrix(output.matrix);
  const auto* after = then_.find_matrix(output.matrix);
  if (before == nullptr || after == nullptr) return never();
  const auto& old_inputs = plan::taken_by(*before, output.output);
  const auto& new_inputs = plan::taken_by(*after, output.output);
  if (const auto given = granted.find(output.matrix); given != granted.end())
    return by_inputs(output.matrix, given->second ? new_inputs : old_inputs, band, granted);
  auto old_paths = by_inputs(output.matrix, old_inputs, band, granted);
  if (old_inputs == new_inputs) return old_paths;
  return switched(matrices_.at(output.matrix), old_paths,
                  by_inputs(output.matrix, new_inputs, band, granted));
}

const plan::Matrix* Reach::moving_at_once(const plan::Receiver& receiver,
                                          const Granted& granted) const {
  for (const auto& [name, mover] : matrices_) {
    const auto* matrix = now_.find_matrix(name);
    const bool at_once = matrix->sheet->applies == plan::Applies::at_once &&
                         matrix->settings.outputs != then_.find_matrix(name)->settings.outputs;
    if (!at_once || granted.contains(name)) continue;
    for (const auto& branch : receiver.branches)
      if (plan::leads_through(branch, *matrix)) return matrix;
  }
  return nullptr;
}

Paths Reach::to(const plan::Receiver& receiver, const rf::Band& band,
                const Granted& granted) const {
  if (const auto* matrix = moving_at_once(receiver, granted)) {
    const auto with = [&](bool moved) {
      auto more = granted;
      more.emplace(matrix->name, moved);
      return to(receiver, band, more);
    };
    return switched(matrices_.at(matrix->name), with(false), with(true));
  }
  Paths paths = never();
  for (const auto& branch : receiver.branches) {
    if (branch.from) {
      paths = either(paths, by_output(*branch.from, band, granted));
      continue;
    }
    for (const auto& name : branch.nodes) paths = either(paths, by(name, band));
  }
  return paths;
}

Paths Reach::to(std::size_t receiver, const rf::Band& band) const {
  return to(now_.receivers[receiver], band, {});
}

}  // namespace catwalk::rack
