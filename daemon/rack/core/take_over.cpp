// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/take_over.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/asked.hpp"
#include "daemon/rack/core/changes.hpp"
#include "daemon/rack/core/running_order.hpp"
#include "daemon/rack/core/switch_advice.hpp"
#include "daemon/rack/core/watching.hpp"
#include "daemon/rack/values/epochs.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

// The show lock that a take-over puts, if any: from another controller nobody knows what it was.
std::optional<Lock> lock_of_take_over(const Turn& turn, const TakeOverRequested& event) {
  const auto& state = turn.state;
  const bool from_other =
      state.control != Control::ours || std::ranges::any_of(state.nodes, &NodeState::is_held);
  if (event.renews || !from_other || state.lock) return std::nullopt;
  return Lock{event.who,
              "taken over from another controller, and nobody here knows whether the rack was "
              "locked for the show",
              turn.now};
}

// What whoever has taken over from another has to do next; `locks`: the rack is locked with it.
std::string after_take_over(const State& state, bool locks) {
  return std::string{locks ? "The rack is locked now, since nobody here knows whether it was."
                           : "The rack stays locked."} +
         " \"" + state.segment.text +
         "\" is taken for the segment that is on the air; if it is not, unlock and choose the "
         "right "
         "one.";
}

// What becomes of nodes that another controller has, or may have. Said again of the same state it
// is the same.
std::vector<TakenNode> nodes_to_take(const State& state) {
  std::vector<TakenNode> taken;
  for (const auto& node : state.nodes) {
    if (state.has(node)) continue;
    auto& taken_node = taken.emplace_back(TakenNode{node.uid, {}});
    if (!node.seen || node.link != Link::answering || node.maybe) continue;
    const bool is_wanted = node.wanted && node.wanted->settings == node.seen->settings;
    taken_node.wanted =
        is_wanted ? *node.wanted
                  : Wanted{node.seen->settings, node.wanted ? node.wanted->revision + 1 : 1};
  }
  return taken;
}

void take_control(Turn& turn, bool takes_over, const std::vector<TakenNode>& taken) {
  auto& state = turn.state;
  state.unasked.clear();
  state.asking_until.reset();
  state.spoken.add(state.epoch);
  if (takes_over) state.taken_as = state.epoch;
  const bool was_ours = state.control == Control::ours;
  if (takes_over && !taken.empty())
    disarm_all(turn, "rack", "disarmed: nodes were taken over from another controller");
  if (takes_over) state.other_heard.reset();
  if (!was_ours) {
    state.control = Control::ours;
    state.watching_because.clear();
    state.other_heard.reset();
    return_alarm(turn, AlarmKind::other_controller, {});
    aim(turn);
  }
  for (const auto& [uid, wanted] : taken) {
    auto* node = state.write(uid);
    if (node == nullptr) continue;
    if (was_ours && !node->is_held()) {
      // It was free before this was durable: what is wanted of it stays, and is kept again.
      if (node->wanted.get() != wanted)
        turn.record(
            {}, {node->wanted ? Write{KeepWanted{uid, *node->wanted}} : Write{ForgetWanted{uid}}});
      continue;
    }
    if (node->change) give_up_change(turn, *node);
    turn.know(*node, &NodeState::wanted, wanted);
    node->was_held = true;
  }
  for (std::size_t place = 0; place < state.nodes.size(); ++place) {
    auto& node = state.nodes.write_at(place);
    if (!takes_over && node.is_held()) watch_node(turn, node);
    if (takes_over) set_free(turn, node);
  }
  if (takes_over) {
    for (const auto& line : state.lines)
      return_alarm(turn, AlarmKind::other_controller, line.name.text);
  }
  if (takes_over && !was_ours) {
    // What a switch left here and there is taken as it is.
    return_alarm(turn, AlarmKind::switch_failed, {});
    const bool is_stuck = state.switch_view && state.switch_view->stage == SwitchStage::stuck;
    if (is_stuck || state.unsettled) state.owed.add({{}, {ForgetSwitch{}}});
    drop_advice(state);
    if (is_stuck) state.switch_view = state.last_ended = nullptr;
  }
  turn.effects.emplace_back(SpeakAs{state.epoch, takes_over});
}

}  // namespace

void on_request(Turn& turn, const TakeOverRequested& event) {
  const auto next = next_epoch(
      event.renews ? turn.state.epoch : std::max(turn.state.epoch, turn.state.highest_heard),
      turn.now, turn.state.share);
  auto entry = turn.entry(JournalKind::command, event.who);
  entry.what = "take over as epoch " + std::to_string(next.value);
  entry.why = event.why;
  const auto lock = lock_of_take_over(turn, event);
  // Nobody knows yet whose the nodes were; who takes them now means those of another.
  if (!event.renews && turn.state.control == Control::asking) give_up_what_was_begun(turn);
  turn.state.asking_until.reset();  // this decides it
  turn.state.take_over_waits = !event.renews;
  std::vector<JournalEntry> entries{std::move(entry)};
  std::vector<Write> writes{KeepEpoch{next}, KeepSpoken{next}};
  // With it, or a crash would leave the next daemon watching.
  if (!event.renews)
    if (const auto end = end_of_alarm(turn, AlarmKind::other_controller, {}))
      writes.push_back(*end);
  auto taken = event.renews ? std::vector<TakenNode>{} : nodes_to_take(turn.state);
  for (const auto& [uid, wanted] : taken) {
    const auto& node = *turn.state.find(uid);
    if (wanted == node.wanted.get()) continue;
    writes.emplace_back(wanted ? Write{KeepWanted{uid, *wanted}} : Write{ForgetWanted{uid}});
    if (!wanted) continue;
    auto found = turn.entry(JournalKind::found, "rack", &node);
    found.what = "taken over as it is: " + in_words(wanted->settings, turn.state.plan_of(node));
    entries.push_back(std::move(found));
  }
  if (lock) {
    entries.front().what += ", locked: " + lock->why;
    writes.emplace_back(KeepLock{lock});
  }
  turn.record(std::move(entries), std::move(writes),
              ThenSpeakAs{event.request, next, !event.renews, lock, std::move(taken)});
}

void kept(Turn& turn, const ThenSpeakAs& then) {
  auto& state = turn.state;
  state.epoch = then.epoch;
  if (!then.takes_over && state.control != Control::ours)
    return turn.respond(
        then.request,
        {Outcome::refused, "Another controller has the nodes by now: take over first."});
  const bool locks = then.lock && !state.lock;
  if (locks) state.lock = then.lock;
  ++state.conditions;
  if (then.takes_over) state.take_over_waits = false;
  take_control(turn, then.takes_over, then.nodes);
  turn.respond(then.request,
               {Outcome::done, then.nodes.empty() ? "" : after_take_over(state, locks)});
}

// What was asked of the nodes goes on.
void lost(Turn& turn, const ThenSpeakAs& then, const std::string& reason) {
  auto& state = turn.state;
  if (then.takes_over) state.take_over_waits = false;
  if (state.control == Control::asking) state.asking_until = turn.now;
  turn.respond(then.request, not_recorded(reason));
}

// That we speak under this epoch is kept: the nodes are ours, unless somebody takes over.
void kept(Turn& turn, const ThenControl&) {
  if (turn.state.control == Control::asking && !turn.state.take_over_waits)
    take_control(turn, false, {});
}

// A disk that is full must not keep the rack from its daemon.
void lost(Turn& turn, const ThenControl& then, const std::string& /*reason*/) {
  turn.state.owed.writes.emplace_back(KeepSpoken{turn.state.epoch});
  kept(turn, then);
}

}  // namespace catwalk::rack
