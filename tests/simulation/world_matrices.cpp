// SPDX-License-Identifier: Apache-2.0
// What hands and weather do at the matrices of the World, and to the cables that end there.
#include "tests/simulation/world.hpp"

namespace catwalk::simulation {

const TrueNode* World::touch_unit(const plan::NodeName& name) {
  const auto* unit = truth_.find(name);
  if (unit == nullptr || !unit->node->is_matrix()) return nullptr;
  for (const auto& node : show_.plan->nodes)
    if (node.ends_at && node.ends_at->matrix == name) touch(node.name);
  return touch(name);
}

void World::perform(const TurnSocket& action) {
  const auto* one = touch_unit(action.node);
  if (one == nullptr) return;
  passage_.meddled();
  auto settings = one->node->matrix_settings();
  if (action.output && *action.output >= 1 &&
      static_cast<std::size_t>(*action.output) <= settings.outputs.size()) {
    std::uint32_t mask = 0;
    for (const auto input : inputs_in(action.takes.value_or("none")).value_or(plan::Inputs{}))
      if (input >= 1 && input <= settings.inputs.size()) mask |= 1U << (input - 1);
    settings.outputs[static_cast<std::size_t>(*action.output) - 1] = mask;
  }
  if (action.input && *action.input >= 1 &&
      static_cast<std::size_t>(*action.input) <= settings.inputs.size()) {
    auto& input = settings.inputs[static_cast<std::size_t>(*action.input) - 1];
    if (action.trim) input.trim_cdb = static_cast<std::int16_t>(action.trim->centidecibels());
    if (action.supply) input.supply_mv = static_cast<std::uint16_t>(*action.supply);
  }
  // Where it cannot be turned to, it is not.
  static_cast<void>(one->node->turn(settings));
}

void World::perform(const Short& action) {
  const auto* one = touch_unit(action.node);
  if (one == nullptr || action.input < 1 ||
      static_cast<std::size_t>(action.input) > one->node->inputs().size())
    return;
  passage_.meddled();
  one->node->socket(static_cast<std::size_t>(action.input)).shorted = action.on;
}

void World::perform(const Cable& action) {
  const auto* antenna = show_.plan->find(action.node);
  if (antenna == nullptr || !antenna->ends_at) return;
  touch(antenna->ends_at->matrix);
  touch(antenna->name);
  passage_.meddled();
  truth_.plug(*antenna, action.in);
}

}  // namespace catwalk::simulation
