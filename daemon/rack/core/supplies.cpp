// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/supplies.hpp"

#include "daemon/plan/routed.hpp"
#include "daemon/rack/core/alarms.hpp"

namespace catwalk::rack {
namespace {

// A sentence without its end; empty: all is well, or nobody knows.
std::string trouble_at(const State& state, const plan::Matrix& matrix, const NodeState& unit,
                       const plan::Node& node) {
  const auto& seen = *unit.seen;
  const auto input = node.ends_at->input;
  const auto socket = "Input " + std::to_string(input) + " of " + matrix.name.text;
  const auto& antenna = node.name.text;
  if (!matrix.supplied || input > seen.reading.inputs.size()) return {};
  const auto& measured = seen.reading.inputs[input - 1];
  if (measured.limited)
    return socket +
           " has let go, since more current was drawn than it gives: a short in the cable "
           "of " +
           antenna + ", or in " + antenna + " itself";
  if (plan::fed_by(matrix, input) == 0) {
    const auto* amplifier = state.find(node.name);
    const bool lives_on_it =
        amplifier != nullptr && amplifier->seen && !amplifier->seen->reading.telemetry.powered;
    if (!lives_on_it || state.plan->served_by(node.name).empty()) return {};
    const auto* detour = unit.change && unit.change->detour ? &*unit.change->detour : nullptr;
    const auto* by = detour == nullptr ? nullptr : detour->settings.matrix();
    if (by != nullptr && by->inputs[input - 1].supply_mv == 0)
      return socket + " feeds nothing while the power of " + antenna + " is cycled";
    return socket + " feeds nothing, since its supply is off, and " + antenna + " is to be heard";
  }
  if (measured.measures_current && measured.supply_ma == 0)
    return socket + " gives no current: its cable is open, or " + antenna + " unplugged";
  return {};
}

void look_at_input(Turn& turn, const plan::Matrix& matrix, const plan::Node& node) {
  const auto* unit = turn.state.find(matrix.name);
  if (unit == nullptr || !unit->seen || !node.datasheet->supply || !matrix.sheet->supply) return;
  if (unit->link != Link::answering) return;  // nobody knows
  const auto trouble = trouble_at(turn.state, matrix, *unit, node);
  if (trouble.empty())
    return_alarm(turn, AlarmKind::not_fed, node.name.text);
  else
    raise_alarm(turn, AlarmKind::not_fed, node.name.text, trouble + '.');
}

}  // namespace

void look_at_supplies(Turn& turn, const NodeState& node) {
  const auto& plan = *turn.state.plan;
  const auto device = turn.state.plan_of(node);
  if (const auto* amplifier = device.amplifier()) {
    const auto* matrix =
        amplifier->ends_at ? plan.find_matrix(amplifier->ends_at->matrix) : nullptr;
    if (matrix != nullptr) look_at_input(turn, *matrix, *amplifier);
    return;
  }
  for (const auto& antenna : plan.nodes)
    if (antenna.ends_at && antenna.ends_at->matrix == node.name)
      look_at_input(turn, *device.matrix(), antenna);
}

}  // namespace catwalk::rack
