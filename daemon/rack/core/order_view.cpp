// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/order_view.hpp"

#include "daemon/rack/core/alarms.hpp"

namespace catwalk::rack {
namespace {

bool is_by_itself(const plan::Trigger& trigger) {
  return std::holds_alternative<plan::AtClock>(trigger) ||
         std::holds_alternative<plan::AfterSegment>(trigger);
}

}  // namespace

const plan::Cue* next_cue(const State& state) {
  const auto& order = state.plan->running_order;
  return order.after(state.at_cue ? &order.cues[*state.at_cue].name : nullptr);
}

std::string not_by_itself(const State& state) {
  if (state.unsettled && state.unsettled->view.stage == SwitchStage::stuck && state.last_ended)
    return state.last_ended->stage == SwitchStage::stuck
               ? "the last switch is stuck"
               : "the switch to " + state.unsettled->view.entered.text + " is still stuck";
  if (state.last_ended)
    return state.last_ended->stage == SwitchStage::stuck ? "the last switch is stuck" : "";
  // Nobody here has seen how the nodes were left, and nothing has gone well since.
  return is_raised(state, AlarmKind::switch_failed, {})
             ? "the last switch before the daemon was restarted did not arrive"
             : "";
}

OrderView order_of(const State& state) {
  OrderView view;
  if (state.at_cue) view.at = state.plan->running_order.cues[*state.at_cue].name;
  if (const auto* next = next_cue(state)) {
    view.next = next->name;
    if (is_by_itself(next->trigger)) view.held_because = not_by_itself(state);
  }
  view.due = state.due;
  view.armed = state.armed;
  view.reload_armed = state.reload_armed;
  for (const auto& wish : state.wishes) view.waiting.push_back(wish.segment);
  return view;
}

}  // namespace catwalk::rack
