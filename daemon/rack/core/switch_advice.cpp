// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/switch_advice.hpp"

#include <algorithm>
#include <utility>

#include "daemon/rack/core/running_order.hpp"
#include "daemon/rack/core/switch_end.hpp"

namespace catwalk::rack {
namespace {

// "go to speeches or to finale", and what has to be done before that is not refused.
std::string go_words(const State& state, const Switch& running) {
  const auto& left = running.view.left;
  const auto& entered = running.view.entered;
  const auto either = "go to " + left.text + " or to " + entered.text;
  if (!state.lock) return either;
  const auto cue_of_left = cue_for(state, left);
  const auto cue_of_entered = cue_for(state, entered);
  const auto is_armed = [&](const std::optional<plan::CueName>& cue) {
    return cue && state.armed && state.armed->cue == *cue;
  };
  if (is_armed(cue_of_entered)) return "go to " + entered.text + ", which is armed";
  if (is_armed(cue_of_left)) return "go to " + left.text + ", which is armed";
  return (cue_of_left || cue_of_entered ? "unlock the rack, or arm the cue that leads there, and "
                                        : "unlock the rack, and ") +
         either;
}

std::string capitalized(std::string sentence) {
  if (sentence[0] >= 'a' && sentence[0] <= 'z')
    sentence[0] = static_cast<char>(sentence[0] - 'a' + 'A');
  return sentence;
}

bool shows_wanted(const NodeState& node) {
  return node.link == Link::answering && node.seen && node.wanted &&
         node.seen->settings == node.wanted->settings;
}

// It is not there, and is told what is wanted of it as soon as it is. The first reading after a
// restart of the daemon is no return.
bool is_reapplied(const State& state, const NodeState& node) {
  return node.was_lost && state.has(node) &&
         state.plan_of(node).on_return() == plan::OnReturn::reapply;
}

constexpr std::string_view on_return =
    "when it answers again it is sent what is wanted of it by itself (on return: reapply)";

// What is wanted is where the switch led, or, of one that is stuck or restores, as it was before.
std::string bring_to_wanted(const State& state, const NodeState& node) {
  if (is_reapplied(state, node)) return capitalized(std::string{on_return}) + '.';
  return "When it is mended, send it what is wanted (reapply).";
}

std::string when_unknown(const State& state, const Switch& running, const NodeState& node) {
  const auto go = go_words(state, running);
  const std::string see = "See to its line and its supply; ";
  if (!is_reapplied(state, node)) return see + "when it answers again, " + go + '.';
  if (running.view.stage == SwitchStage::done) return see + std::string{on_return} + '.';
  return see + std::string{on_return} + ", which this switch has not changed. Then " + go + '.';
}

std::string by_whereabouts(const State& state, const Switch& running, const NodeState& node,
                           Whereabouts where) {
  const auto go = go_words(state, running);
  switch (where) {
    case Whereabouts::unknown:
      return when_unknown(state, running, node);
    case Whereabouts::between:
      return "It rests between the two segments: " + go + " to move it on.";
    case Whereabouts::elsewhere:
      return "Somebody or something else has set it: look at it, then " + go + '.';
    case Whereabouts::before:
    case Whereabouts::target:
      return "Then " + go + '.';
    case Whereabouts::not_ours:
      return "Take over, which locks the rack; then unlock it, and go to " +
             running.view.left.text + " or to " + running.view.entered.text + '.';
  }
  return {};
}

// Whether what is there to say may be another than was shown last.
bool may_differ(const State& state) {
  if (!state.snapshot) return true;
  const auto& shown = *state.snapshot;
  return shown.lock != state.lock || shown.control != state.control || shown.order != state.order ||
         shown.plan != state.plan ||
         std::ranges::any_of(state.unsettled->nodes, [&](const SwitchNode& member) {
           return state.nodes.changed(state.by_uid.at(member.uid));
         });
}

}  // namespace

std::string what_to_do(const State& state, const Switch& running, const SwitchNode& member,
                       Whereabouts where) {
  const bool stuck = running.view.stage == SwitchStage::stuck;
  const bool went_without = running.view.stage == SwitchStage::done && member.given_up;
  if (!stuck && !went_without) return {};
  const auto& node = *state.find(member.uid);
  const bool settled = shows_wanted(node);
  if (went_without && settled) return {};
  if (member.left_out && settled) return "It was left out, and shows what is wanted of it.";
  if (member.left_out || running.wish.restores) return bring_to_wanted(state, node);
  return by_whereabouts(state, running, node, where);
}

bool leaves_something(const Switch& running) {
  if (running.view.stage == SwitchStage::stuck) return true;
  return running.view.stage == SwitchStage::done &&
         std::ranges::any_of(running.nodes, &SwitchNode::given_up);
}

bool is_in_files(const State& state, const Switch& running) {
  return state.plan->find(running.view.left) != nullptr &&
         state.plan->find(running.view.entered) != nullptr &&
         std::ranges::all_of(running.nodes, [&](const SwitchNode& member) {
           return state.find(member.uid) != nullptr;
         });
}

bool is_told(const State& state) {
  return state.unsettled && state.last_ended && state.last_ended->id == state.unsettled->view.id;
}

void renew_advice(State& state) {
  if (!is_told(state)) return;
  if (!is_in_files(state, *state.unsettled)) return drop_advice(state);
  if (!may_differ(state)) return;
  auto now = view_of_ended(state, *state.unsettled);
  const auto& before = *state.last_ended;
  if (now->reason == before.reason && now->nodes == before.nodes) return;
  state.last_ended = std::move(now);
  if (!state.switching) state.switch_view = state.last_ended;
}

void drop_advice(State& state) {
  const bool told = is_told(state);
  state.unsettled.reset();
  if (!told) return;
  auto view = *state.last_ended;
  for (auto& shown : view.nodes) {
    if (shown->what_to_do.empty()) continue;
    auto node = *shown;
    node.what_to_do.clear();
    shown = std::make_shared<const SwitchedNode>(std::move(node));
  }
  state.last_ended = std::make_shared<const SwitchView>(std::move(view));
  if (!state.switching) state.switch_view = state.last_ended;
}

}  // namespace catwalk::rack
