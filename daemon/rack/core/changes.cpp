// SPDX-License-Identifier: Apache-2.0
// The life of a change: recorded as intent, staged, applied, read back; settled, or failed with the
// reason and the wanted settings put back.
#include "daemon/rack/core/changes.hpp"

#include <algorithm>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/field.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wire.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

constexpr std::size_t changes_kept = 32;  // copied into each new snapshot while one moves

void show(State& state, const ChangeView& view) {
  const auto known = std::ranges::find(state.changes, view.id, &ChangeView::id);
  if (known != state.changes.end()) {
    state.changes.write(*known) = view;
    return;
  }
  state.changes.add(view);
  if (state.changes.size() > changes_kept)
    state.changes.erase_if(
        [first = state.changes[0].id](const auto& change) { return change.id == first; });
}

void move_to(Turn& turn, NodeState& node, ChangeStage stage) {
  turn.change_of(node).view.stage = stage;
  show(turn.state, node.change->view);
}

// It is wanted so from now on. Precondition: something was wanted.
void decide(Turn& turn, NodeState& node, const plan::NodeSettings& settings) {
  turn.know(node, &NodeState::wanted, std::optional{Wanted{settings, node.wanted->revision + 1}});
}

// Precondition: there is one.
Change end_of_change(Turn& turn, NodeState& node) {
  auto change = *node.change;
  turn.know<Change>(node, &NodeState::change, std::nullopt);
  return change;
}

// What was left where the detour led, or may have been; empty: nothing.
std::string left_there(const Change& change) {
  if (!change.detour) return {};
  const auto& what = change.detour->what;
  if (change.detour->until) return " It was left with " + what + ": re-apply what is wanted.";
  const bool told =
      change.view.stage == ChangeStage::applying || change.view.stage == ChangeStage::reading_back;
  return told ? " It may have been left with " + what + ": read it, and re-apply what is wanted."
              : std::string{};
}

// The antenna starts anew when its supply is back, and is told then what is wanted of it.
void expect_return(Turn& turn, const Change& change, bool expected) {
  if (!change.detour || !change.detour->antenna) return;
  if (const auto* antenna = turn.state.find(*change.detour->antenna);
      antenna != nullptr && antenna->cycled != expected)
    turn.state.nodes.write(*antenna).cycled = expected;
}

enum class WantedThen { put_back, stays };

// Ends the change of this node, for good: state, journal, view, alarm and answer.
void end_change(Turn& turn, NodeState& node, ChangeStage fate, std::string reason,
                WantedThen wanted_then = WantedThen::put_back) {
  const bool settled = fate == ChangeStage::settled;
  Change change = end_of_change(turn, node);
  if (!settled) expect_return(turn, change, false);

  std::vector<Write> writes{ForgetUnfinished{change.view.id}};
  if (!settled && wanted_then == WantedThen::put_back) {
    decide(turn, node, change.view.before);
    writes.emplace_back(KeepWanted{node.uid, *node.wanted});
  }
  auto entry = turn.entry(JournalKind::fate, change.view.who, &node);
  entry.change = change.view.id;
  entry.fate = std::string{name_of(fate)} + (reason.empty() ? "" : ": " + reason);
  turn.record({std::move(entry)}, std::move(writes));

  change.view.stage = fate;
  change.view.reason = reason;
  change.view.ended = turn.now;
  show(turn.state, change.view);

  const auto& name = node.name.text;
  if (settled)
    return_alarm(turn, AlarmKind::change_failed, name);
  else
    raise_alarm(turn, AlarmKind::change_failed, name, name + ": " + reason);
  const bool agrees = node.seen && node.seen->settings == node.wanted->settings;
  if (agrees) return_alarm(turn, AlarmKind::drifted, name);

  if (!change.request) return;
  if (settled && node.seen && !node.seen->reading.telemetry.powered)
    reason = "The node has no supply: it is a passive antenna until it has.";
  const auto outcome = settled                            ? Outcome::settled
                       : fate == ChangeStage::unreachable ? Outcome::unreachable
                                                          : Outcome::failed;
  turn.respond(*change.request,
               {outcome, std::move(reason), {}, change.view.id, view_of(turn.state, node)});
}

void read_back(Turn& turn, NodeState& node) {
  move_to(turn, node, ChangeStage::reading_back);
  turn.send(node, protocol::Read{}, StepOfChange{node.uid, node.change->view.id});
}

void stage(Turn& turn, NodeState& node) {
  const auto& change = *node.change;
  move_to(turn, node, ChangeStage::staging);
  turn.send(node, staged(turn.state.epoch, ticket_for(change.ticket), change.goal()),
            StepOfChange{node.uid, change.view.id});
}

void compare(Turn& turn, NodeState& node) {
  auto& change = turn.change_of(node);
  const auto& goal = change.goal();
  if (node.seen->settings != goal) {
    end_change(turn, node, ChangeStage::failed,
               "The node reads back " +
                   differences(node.seen->settings, goal, turn.state.plan_of(node)) + '.' +
                   left_there(change));
  } else if (change.is_on_detour()) {
    change.detour->until = turn.now + change.detour->lasting;
    move_to(turn, node, ChangeStage::resting);
  } else {
    end_change(turn, node, ChangeStage::settled, {});
  }
}

void step_answered(Turn& turn, NodeState& node, const protocol::Answer& reply) {
  const auto& view = node.change->view;
  if (const auto* refusal = std::get_if<protocol::Refusal>(&reply)) {
    end_change(turn, node, ChangeStage::failed,
               "The node refused: " + std::string{protocol::sentence_of(refusal->reason)} + '.' +
                   left_there(*node.change));
    return;
  }
  if (view.stage == ChangeStage::reading_back) {
    if (const auto reading = reading_of_its_kind(turn.state, node, reply)) {
      take_reading(turn, node, *reading);
      compare(turn, node);
      return;
    }
  } else if (std::holds_alternative<protocol::Done>(reply)) {
    if (view.stage == ChangeStage::staging) {
      move_to(turn, node, ChangeStage::applying);
      turn.send(node, protocol::Apply{turn.state.epoch, ticket_for(node.change->ticket)},
                StepOfChange{node.uid, view.id});
    } else {
      read_back(turn, node);
    }
    return;
  }
  end_change(turn, node, ChangeStage::failed,
             "The node gave an answer that does not belong to the question (" +
                 std::string{protocol::name_of(reply)} + ")." + left_there(*node.change));
}

void step_failed(Turn& turn, NodeState& node, protocol::Fault fault) {
  // An apply without an answer may still have been obeyed: only a reading can tell.
  if (node.change->view.stage == ChangeStage::applying && fault == protocol::Fault::timed_out) {
    read_back(turn, node);
    return;
  }
  const auto stage = node.change->view.stage;
  if (stage != ChangeStage::staging)
    turn.know(node, &NodeState::maybe, std::optional{node.change->goal()});
  std::string reason = "The node did not answer (" + std::string{name_of(fault)} + ')';
  reason += stage == ChangeStage::staging
                ? "; the new settings were not applied."
                : "; whether it took the new settings shows when it is read again.";
  reason += left_there(*node.change);
  end_change(turn, node, ChangeStage::unreachable, std::move(reason));
}

}  // namespace

protocol::Ticket ticket_for(ChangeId id) {
  // Zero means "none" on the wire, so the count skips it.
  return {static_cast<std::uint32_t>(id % 0xFFFF'FFFFU) + 1};
}

void begin_change(Turn& turn, NodeState& node, NewChange change) {
  auto& state = turn.state;
  const auto before = node.wanted->settings;
  ChangeView view{++state.last_change,
                  node.name,
                  ChangeStage::recording,
                  change.who,
                  change.why,
                  before,
                  change.after,
                  {},
                  turn.now,
                  {}};

  auto entry = turn.entry(JournalKind::intent, change.who, &node);
  entry.change = view.id;
  entry.what = change.detour ? change.detour->what + " for " + in_words(change.detour->lasting)
                             : move_in_words(before, change.after, state.plan_of(node));
  entry.why = change.why;
  entry.verdict = in_words(change.verdict);
  if (change.waiver) entry.waiver = change.waiver->text();

  decide(turn, node, change.after);
  turn.know(node, &NodeState::change,
            std::optional{Change{view, change.request, change.restores, turn.state.conditions,
                                 std::move(change.detour), view.id}});
  show(state, view);
  turn.record({std::move(entry)},
              {KeepWanted{node.uid, *node.wanted},
               KeepUnfinished{{view.id, node.uid, before, change.after}}},
              ThenStage{node.uid});
}

void kept(Turn& turn, const ThenStage& then) {
  auto* found = turn.state.write(then.node);
  if (found == nullptr || !found->change) return;
  auto& node = *found;
  const auto& view = node.change->view;
  // While the intent was being recorded, the rack may have been locked, another segment chosen, or
  // a neighbour changed.
  if (node.change->checked_at != turn.state.conditions) {
    auto around = turn.surroundings();
    if (!node.change->request || node.change->restores) around.locked = false;
    if (auto verdict = turn.verdict_on(around, node, node.change->goal()); verdict.refuses()) {
      end_change(turn, node, ChangeStage::failed,
                 "The rules refuse it by now, and nothing was sent: " + in_words(verdict));
      return;
    }
  }
  if (node.change->request)
    turn.respond(*node.change->request,
                 {Outcome::accepted, {}, {}, view.id, view_of(turn.state, node)});
  stage(turn, node);
}

void lost(Turn& turn, const ThenStage& then, const std::string& reason) {
  auto* found = turn.state.write(then.node);
  if (found == nullptr || !found->change) return;
  auto& node = *found;
  const Change change = end_of_change(turn, node);
  decide(turn, node, change.view.before);
  turn.state.owed.writes.emplace_back(KeepWanted{node.uid, *node.wanted});
  auto ended = change.view;
  ended.stage = ChangeStage::failed;
  ended.reason = "The journal could not be written: " + reason;
  ended.ended = turn.now;
  show(turn.state, ended);
  // In between, the node may have gone where it is wanted now, or away from it.
  if (node.seen) hold_to_wanted(turn, node, node.was_lost && node.link == Link::answering);
  if (change.request)
    turn.respond(
        *change.request,
        {Outcome::not_recorded, ended.reason, {}, change.view.id, view_of(turn.state, node)});
}

void answered(Turn& turn, const StepOfChange& what, const protocol::Answer* reply,
              protocol::Fault fault) {
  auto* node = turn.state.write(what.node);
  if (node == nullptr || !node->change || node->change->view.id != what.change) return;
  if (reply != nullptr)
    step_answered(turn, *node, *reply);
  else
    step_failed(turn, *node, fault);
}

void take_up(Turn& turn, const Unfinished& unfinished) {
  auto& state = turn.state;
  const auto* found = state.find(unfinished.node);
  const bool is_known = found != nullptr && found->wanted &&
                        state.plan_of(*found).fits(unfinished.before) &&
                        state.plan_of(*found).fits(unfinished.after);
  if (!is_known) {
    auto entry = turn.entry(JournalKind::fate, "rack");
    entry.change = unfinished.change;
    entry.fate = "unknown: its node is no longer in the rack file, or is another kind of node";
    state.owed.add({{std::move(entry)}, {ForgetUnfinished{unfinished.change}}});
    return;
  }
  auto& node = state.nodes.write(*found);
  if (node.change) {
    auto earlier = end_of_change(turn, node).view;
    earlier.stage = ChangeStage::failed;
    earlier.reason = "The daemon was stopped before its fate could be recorded.";
    earlier.ended = turn.now;
    show(state, earlier);
    auto entry = turn.entry(JournalKind::fate, earlier.who, &node);
    entry.change = earlier.id;
    entry.fate = "unknown: " + earlier.reason;
    state.owed.add({{std::move(entry)}, {ForgetUnfinished{earlier.id}}});
  }
  ChangeView view{unfinished.change,
                  node.name,
                  ChangeStage::interrupted,
                  "rack",
                  {},
                  unfinished.before,
                  unfinished.after,
                  "The daemon was stopped in the middle; the node has to be read.",
                  turn.now,
                  {}};
  turn.know(node, &NodeState::change, std::optional{Change{view, {}}});
  state.changes.add(view);
}

void resolve_interrupted(Turn& turn, NodeState& node) {
  if (node.seen->settings == node.change->view.after) {
    const bool same = node.change->view.before == node.change->view.after;
    end_change(turn, node, ChangeStage::settled,
               same
                   ? "what is wanted was found in force after the daemon was restarted; whether it "
                     "was told again is not known"
                   : "found in force after the daemon was restarted");
    return;
  }
  // Somebody may have been told of it: what was decided stays wanted, and the difference shows.
  end_change(turn, node, ChangeStage::failed,
             "The daemon stopped in the middle, and the node does not show the new settings. They "
             "stay wanted.",
             WantedThen::stays);
}

void end_rests(Turn& turn) {
  for (const auto& resting : turn.state.nodes) {
    if (!resting.change || resting.change->view.stage != ChangeStage::resting) continue;
    if (turn.now < *resting.change->detour->until) continue;
    auto& node = turn.state.nodes.write(resting);
    expect_return(turn, *node.change, true);
    turn.change_of(node).ticket = ++turn.state.last_change;
    stage(turn, node);
  }
}

std::optional<TimePoint> next_end_of_rest(const State& state) {
  std::optional<TimePoint> first;
  for (const auto& node : state.nodes)
    if (node.change && node.change->view.stage == ChangeStage::resting)
      first = std::min(first.value_or(TimePoint::max()), *node.change->detour->until);
  return first;
}

void rests_move_with_clock(Turn& turn, std::chrono::microseconds by) {
  for (const auto& resting : turn.state.nodes)
    if (resting.change && resting.change->view.stage == ChangeStage::resting)
      *turn.change_of(turn.state.nodes.write(resting)).detour->until += by;
}

void give_up_change(Turn& turn, NodeState& node) {
  end_change(turn, node, ChangeStage::failed,
             "Another controller has the node, or has had it since the change was begun." +
                 left_there(*node.change),
             node.change->view.stage == ChangeStage::interrupted ? WantedThen::stays
                                                                 : WantedThen::put_back);
}

}  // namespace catwalk::rack
