// SPDX-License-Identifier: Apache-2.0
// Whether this daemon is the one that controls the nodes. After its start it asks them whom they
// obey. Where another controller speaks it only watches: it shows what they say, and moves nothing
// until a person takes over.
#include "daemon/rack/core/watching.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/changes.hpp"
#include "daemon/rack/core/core.hpp"
#include "daemon/rack/core/crew.hpp"
#include "daemon/rack/core/field.hpp"
#include "daemon/rack/core/running_order.hpp"
#include "daemon/rack/core/switch_begin.hpp"
#include "daemon/rack/core/switch_end.hpp"
#include "daemon/rack/values/epochs.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

std::string who_speaks(const OtherSpeaks& event, const NodeState* node) {
  const auto epoch =
      event.epoch.value == 0 ? "" : " (epoch " + std::to_string(event.epoch.value) + ")";
  if (node == nullptr) return "Another controller" + epoch + " speaks on line " + event.line.text;
  if (!event.ago || *event.ago >= std::chrono::minutes{1})
    return node->name.text + " obeys another controller" + epoch;
  return "Another controller" + epoch + " speaks to " + node->name.text;
}

// Whether it shows what is wanted of it is nobody's question while another has it.
void leave_to_other(Turn& turn, const NodeState& node) {
  return_alarm(turn, AlarmKind::drifted, node.name.text);
}

void watch(Turn& turn, const std::string& because) {
  auto& state = turn.state;
  if (state.control == Control::watching) return;
  if (state.control == Control::ours) turn.effects.emplace_back(FallQuiet{});
  state.control = Control::watching;
  give_up_what_was_begun(turn);
  for (std::size_t place = 0; place < state.nodes.size(); ++place) {
    auto& node = state.nodes.write_at(place);
    leave_to_other(turn, node);
    return_alarm(turn, AlarmKind::other_controller, node.name.text);
    // On a serial line nobody asks it any more; elsewhere it is read again in a moment.
    if (node.link == Link::answering) node.link = Link::unknown;
  }
  for (const auto& line : state.lines)
    return_alarm(turn, AlarmKind::other_controller, line.name.text);
  state.watching_because = because + '.';
  raise_alarm(turn, AlarmKind::other_controller, {},
              because +
                  ": this daemon only watches. Nothing is moved from here until somebody "
                  "takes over; stop the other one first.");
}

// Nodes tell so every few seconds; nobody reads them faster.
void heard_at(Turn& turn, TimePoint when) {
  auto& heard = turn.state.other_heard;
  if (heard && when < *heard + std::chrono::seconds{2}) return;
  heard = when;
}

// Said again and again, with whatever epoch: the first reason stands.
void hold(Turn& turn, NodeState& node, Held how, std::string because) {
  if (node.is_held()) return;
  node.held = how;
  node.has_told = false;
  node.held_because = std::move(because);
  if (turn.state.control == Control::ours) watch_node(turn, node);
}

// Somebody took over while this daemon was at work: the whole rack is another's if more than half
// of the nodes say so, or if it has all of them. A single one may have bad memory, the others may
// only be out of contact; and a line on which another is heard may be quiet when it comes up again.
void look_whose_rack(Turn& turn) {
  const auto& nodes = turn.state.nodes;
  const auto say_so = std::ranges::count_if(nodes, [](const NodeState& node) {
    return node.held == Held::spoken_to || node.held == Held::by_epoch;
  });
  const bool most = 2 * static_cast<std::size_t>(say_so) > nodes.size();
  const bool all = !nodes.empty() && std::ranges::all_of(nodes, &NodeState::is_held);
  if (most || all) watch(turn, std::ranges::find_if(nodes, &NodeState::is_held)->held_because);
}

// One node that says so may have bad memory; the whole rack is another's if half of those say so
// that have told. Else they alone are left to it.
void decide(Turn& turn) {
  auto& state = turn.state;
  state.unasked.clear();
  state.asking_until.reset();
  const auto held = std::ranges::count_if(state.nodes, &NodeState::is_held);
  const auto told = std::ranges::count(state.nodes, true, &NodeState::has_told) + held;
  if (held > 0 && 2 * held >= told)
    return watch(turn, std::ranges::find_if(state.nodes, &NodeState::is_held)->held_because);
  // Nothing but a person ends the watching, not a restart either: what is wanted here is older than
  // what the other one has made of the nodes since.
  if (is_raised(state, AlarmKind::other_controller, {}))
    return watch(turn,
                 "Another controller had the nodes when this daemon was stopped, and nobody here "
                 "has taken over since");
  // Not a word before it is kept that we spoke under this epoch: after a crash the nodes that obey
  // it would be taken for another's.
  turn.record({}, {KeepSpoken{state.epoch}}, ThenControl{});
}

}  // namespace

void watch_node(Turn& turn, const NodeState& node) {
  leave_to_other(turn, node);
  raise_alarm(turn, AlarmKind::other_controller, subject_of_other(turn.state, node),
              held_words(node));
}

void set_free(Turn& turn, NodeState& node) {
  if (!node.is_held()) return;
  node.held = Held::no;
  node.was_held = true;
  return_alarm(turn, AlarmKind::other_controller, node.name.text);
  // What could not be changed while the other one had it.
  return_alarm(turn, AlarmKind::change_failed, node.name.text);
}

void begin_asking(State& state, AskFirst ask, TimePoint now) {
  if (ask.lines.empty()) return;
  state.control = Control::asking;
  state.unasked = std::move(ask.lines);
  state.asking_until = now + ask.longest;
}

void keep_asking(Turn& turn) {
  auto& state = turn.state;
  if (state.control == Control::ours) return look_whose_rack(turn);
  if (state.control != Control::asking || !state.asking_until) return;
  if (state.unasked.empty() || turn.now >= *state.asking_until) decide(turn);
}

void give_up_what_was_begun(Turn& turn) {
  auto& state = turn.state;
  const std::string refused = "Another controller has the nodes, or had them: nothing was moved.";
  std::vector<Write> writes;
  for (const auto& wish : std::exchange(state.wishes, {}))
    refuse_wish(turn, wish, Outcome::refused, refused);
  for (const auto request : std::exchange(state.arm_waits, {}))
    turn.respond(request, {Outcome::refused, refused});
  if (state.switching && !state.switching->durable) {
    // Its intent may be on its way to the disk.
    writes = writes_without_new(state);
    refuse_wish(turn, drop_switch(turn), Outcome::refused, refused);
  } else if (state.switching) {
    end_switch(turn, SwitchStage::stuck,
               state.switching->view.stage == SwitchStage::interrupted
                   ? "The daemon was stopped in it, and another controller has had the nodes since."
                   : "Another controller took the nodes while it was under way.");
  }
  disarm_all(turn, "rack", "disarmed: another controller has, or had, the nodes");
  for (const auto& node : state.nodes)
    if (node.change) give_up_change(turn, state.nodes.write(node));
  std::ranges::move(drop_all_ticks(state), std::back_inserter(writes));
  if (!state.reached.empty()) writes.emplace_back(ForgetReached{});
  state.reached.clear();
  aim(turn);
  if (!writes.empty()) turn.record({}, std::move(writes));
}

std::string counts_only_here(const State& state) {
  return state.control == Control::ours
             ? std::string{}
             : "That counts only here: another controller has the nodes, or may have them.";
}

std::string held_words(const NodeState& node) {
  return node.held_because + ". Nothing is sent there until we take over.";
}

bool refuse_without_control(Turn& turn, RequestId request) {
  auto none = no_control(turn.state.control, turn.state.watching_because);
  if (none) turn.respond(request, {none->outcome, std::move(none->sentence)});
  return none.has_value();
}

void obeys_nobody(Turn& turn, NodeState& node, protocol::Epoch epoch) {
  node.obeys_other = epoch;
  const auto& name = node.name.text;
  // Its own word made it another's; nobody believes that now.
  if (node.held == Held::spoken_to || node.held == Held::by_epoch) set_free(turn, node);
  raise_alarm(turn, AlarmKind::epoch_out_of_reach, name,
              name + " says that it obeys epoch " + std::to_string(epoch.value) +
                  ", which no controller can have (ours is " +
                  std::to_string(turn.state.epoch.value) +
                  "): its memory is bad, or it was told so by something else. It refuses our "
                  "settings until it is reclaimed; the others are not touched by that.");
}

void on_field_event(Turn& turn, const OtherSpeaks& event) {
  auto& state = turn.state;
  if (event.under < state.taken_as) return;  // it was on its way when somebody took over
  auto* node = state.write(event.node);
  if (node == nullptr && event.node != protocol::NodeUid::everyone()) return;
  const bool could_be = could_be_an_epoch(event.epoch, state.epoch, turn.now);
  if (node != nullptr && !could_be) {
    node->told_nonsense = true;
    return obeys_nobody(turn, *node, event.epoch);
  }
  if (could_be) state.highest_heard = std::max(state.highest_heard, event.epoch);
  if (event.ago) heard_at(turn, turn.now - *event.ago);
  const auto words = who_speaks(event, node);
  if (node != nullptr) return hold(turn, *node, Held::spoken_to, words);
  std::erase(state.unasked, event.line);
  for (const auto& other : state.nodes)
    if (state.plan_of(other).line() == event.line)
      hold(turn, state.nodes.write(other), Held::with_line, words);
  if (state.control != Control::ours) watch(turn, words);
}

void obeys_other(Turn& turn, NodeState& node, protocol::Epoch epoch) {
  auto& state = turn.state;
  if (!could_be_an_epoch(epoch, state.epoch, turn.now)) return obeys_nobody(turn, node, epoch);
  return_alarm(turn, AlarmKind::epoch_out_of_reach, node.name.text);
  node.obeys_other = epoch;
  state.highest_heard = std::max(state.highest_heard, epoch);
  if (node.is_held()) return;
  hold(turn, node, Held::by_epoch,
       node.name.text + " obeys another controller (epoch " + std::to_string(epoch.value) +
           ", ours is " + std::to_string(state.epoch.value) + ')');
}

void obeys_us(Turn& turn, NodeState& node, protocol::Epoch epoch) {
  // What it keeps may be lower than what it takes commands under: only asking tells.
  if (node.told_nonsense) return;
  node.obeys_other.reset();
  return_alarm(turn, AlarmKind::epoch_out_of_reach, node.name.text);
  // One that we only rose above, and never spoke under, is the other's still.
  if (node.held == Held::by_epoch && turn.state.spoken.have(epoch)) set_free(turn, node);
}

void on_field_event(Turn& turn, const NodeFree& event) {
  auto* node = turn.state.write(event.node);
  if (node == nullptr) return;
  node->has_told = true;
  node->told_nonsense = false;
  // While it only watches, nothing but a person ends that.
  if (turn.state.control == Control::ours) set_free(turn, *node);
}

void on_field_event(Turn& turn, const LineAsked& event) {
  auto& state = turn.state;
  std::erase(state.unasked, event.line);
  return_alarm(turn, AlarmKind::other_controller, event.line.text);
  for (const auto& node : state.nodes)
    if (node.held == Held::with_line && state.plan_of(node).line() == event.line)
      set_free(turn, state.nodes.write(node));
}

}  // namespace catwalk::rack
