// SPDX-License-Identifier: Apache-2.0
// After a restart: what becomes of a switch that the daemon was stopped in, and of one that it had
// left stuck.
#include "daemon/rack/core/switch_again.hpp"

#include <algorithm>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/switch_advice.hpp"
#include "daemon/rack/core/switch_begin.hpp"
#include "daemon/rack/core/switch_end.hpp"
#include "daemon/rack/core/switch_way.hpp"

namespace catwalk::rack {
namespace {

// One that cannot be gone on with: it is stuck, wherever its nodes are.
void give_up_switch(Turn& turn, const UnfinishedSwitch& unfinished) {
  auto entry = turn.entry(JournalKind::switching, "rack");
  entry.change = unfinished.id;
  entry.what = unfinished.left + " → " + unfinished.entered;
  entry.fate =
      "stuck: the daemon was stopped in it, and its segments or nodes are not in the "
      "files any more";
  SwitchView view;
  view.id = unfinished.id;
  view.left = {unfinished.left};
  view.entered = {unfinished.entered};
  view.who = unfinished.who;
  view.why = unfinished.why;
  view.stage = SwitchStage::stuck;
  view.requested = turn.now;
  view.ended = turn.now;
  view.reason = entry.fate.substr(std::string_view{"stuck: "}.size());
  turn.state.last_ended =
      std::make_shared<const SwitchView>(std::move(view));  // no cue goes by itself
  turn.state.owed.add({{std::move(entry)}, {ForgetSwitch{}}});
}

// Its segments and its nodes are in the files.
template <class Nodes>
bool is_known(const State& state, const plan::SegmentName& left, const plan::SegmentName& entered,
              const Nodes& nodes) {
  return state.plan->find(left) != nullptr && state.plan->find(entered) != nullptr &&
         std::ranges::all_of(nodes,
                             [&](const auto& node) { return state.find(node.uid) != nullptr; });
}

bool is_unread(const NodeState& node) { return node.link == Link::unknown && !node.is_held(); }

Switch as_it_was(const Turn& turn, const UnfinishedSwitch& unfinished) {
  const auto& state = turn.state;
  Switch running;
  running.view.id = unfinished.id;
  running.view.left = {unfinished.left};
  running.view.entered = {unfinished.entered};
  running.view.who = running.wish.who = unfinished.who;
  running.view.why = running.wish.why = unfinished.why;
  running.view.back = unfinished.back;
  running.view.step = unfinished.step;
  running.view.stage = SwitchStage::interrupted;
  running.view.requested = turn.now;
  running.view.reason = "The daemon was stopped in the middle.";
  running.wish.segment = running.view.entered;
  running.wish.waiver = unfinished.waiver;
  if (!unfinished.cue.empty()) running.wish.cue = plan::CueName{unfinished.cue};
  running.view.restores = running.wish.restores = unfinished.restores;
  running.if_a_node_fails = running.wish.restores
                                ? plan::IfNodeFails::go_on
                                : state.plan->find(running.view.entered)->if_a_node_fails;
  running.durable = true;
  running.moved = true;
  for (const auto& node : unfinished.nodes) {
    SwitchNode member;
    member.uid = node.uid;
    member.before = node.before;
    member.target = node.target;
    member.left_out = member.given_up = node.left_out;
    if (node.left_out) {
      member.reason = "Left out by " + unfinished.who + ".";
      running.wish.without.push_back(state.find(node.uid)->name);
    }
    running.nodes.add(std::move(member));
  }
  return running;
}

// It ended before the daemon was stopped: nothing is gone on with. Its end is as old as its alarm.
Switch stuck_as_it_was(const Turn& turn, const UnfinishedSwitch& unfinished) {
  auto stuck = as_it_was(turn, unfinished);
  stuck.view.stage = SwitchStage::stuck;
  stuck.view.reason = "It was stuck before the daemon was restarted.";
  for (const auto& alarm : turn.state.alarms)
    if (alarm.kind == AlarmKind::switch_failed && alarm.active())
      stuck.view.requested = alarm.raised;
  stuck.view.ended = stuck.view.requested;
  return stuck;
}

}  // namespace

void tell_stuck(Turn& turn) {
  auto& state = turn.state;
  // Behind a later one that was rolled back it is told by that one's alarm.
  if (!state.unsettled || state.last_ended || state.switching) return;
  auto& stuck = *state.unsettled;
  if (!is_in_files(state, stuck)) return state.unsettled.reset();
  // While another controller has the rack, where they are is its affair.
  const bool waits = state.control == Control::ours &&
                     std::ranges::any_of(stuck.nodes, [&](const SwitchNode& member) {
                       return is_unread(*state.find(member.uid));
                     });
  if (!waits) state.switch_view = state.last_ended = view_of_ended(state, stuck);
}

void take_up_switch(Turn& turn, const UnfinishedSwitch& unfinished) {
  auto& state = turn.state;
  const bool known = is_known(state, plan::SegmentName{unfinished.left},
                              plan::SegmentName{unfinished.entered}, unfinished.nodes);
  if (known && unfinished.stuck)
    state.unsettled = stuck_as_it_was(turn, unfinished);
  else if (known)
    state.switching.emplace() = as_it_was(turn, unfinished);
  else if (unfinished.stuck)
    state.owed.add({{}, {ForgetSwitch{}}});  // the alarm of it stays
  else
    give_up_switch(turn, unfinished);
}

void resume_if_read(Turn& turn) {
  auto& state = turn.state;
  if (!state.switching || state.switching->view.stage != SwitchStage::interrupted) return;
  auto& running = state.switching.write();
  std::size_t at_before = 0;
  std::size_t at_target = 0;
  std::size_t concerned = 0;
  for (const auto& member : running.nodes) {
    const auto& node = *state.find(member.uid);
    if (member.left_out) continue;
    ++concerned;
    if (is_unread(node)) return;
    at_before += whereabouts(state, node, member) == Whereabouts::before;
    at_target += whereabouts(state, node, member) == Whereabouts::target;
  }
  if (at_target == concerned) return end_switch(turn, SwitchStage::done, {});
  if (at_before == concerned)
    return end_switch(turn, SwitchStage::rolled_back,
                      running.view.reason + " Every node is as it was before.");
  if (running.aborted) {
    // Somebody has said so while the nodes were read.
    running.view.stage = SwitchStage::planning;
    return running.view.back ? end_switch(turn, SwitchStage::stuck, running.view.reason)
                             : go_back(turn);
  }
  switch (state.plan->running_order.after_restart) {
    case plan::AfterRestart::wait:
      return end_switch(turn, SwitchStage::stuck, running.view.reason);
    case plan::AfterRestart::finish:
      running.view.stage = SwitchStage::planning;
      return plan_on(turn);
    case plan::AfterRestart::roll_back:
      running.view.stage = SwitchStage::planning;
      return running.view.back ? plan_on(turn) : go_back(turn);
  }
}

}  // namespace catwalk::rack
