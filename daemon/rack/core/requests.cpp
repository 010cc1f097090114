// SPDX-License-Identifier: Apache-2.0
// What people ask of the rack: each is answered once, and none is half done.
#include "daemon/rack/core/requests.hpp"

#include <algorithm>
#include <iterator>

#include "daemon/rack/core/changes.hpp"
#include "daemon/rack/core/watching.hpp"
#include "daemon/rack/values/epochs.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

Answer unknown(std::string_view what, const std::string& name) {
  return {Outcome::unknown_name,
          "There is no " + std::string{what} + " \"" + name + "\" in this rack.",
          {},
          0,
          nullptr};
}

// Empty: there is none.
std::string switch_under_way(const State& state) {
  if (state.switching)
    return "The switch to " + state.switching->view.entered.text + " is under way.";
  if (!state.wishes.empty())
    return "A switch to " + state.wishes.front().segment.text + " is about to begin.";
  return {};
}

// True: another controller has it, and that was answered.
bool refuse_held(Turn& turn, RequestId request, const NodeState& node) {
  if (!node.is_held()) return false;
  turn.respond(request, {Outcome::refused, held_words(node), {}, 0, view_of(turn.state, node)});
  return true;
}

// The node that is asked about. Null: there is none, and that was answered.
template <class Event>
NodeState* named_node(Turn& turn, const Event& event) {
  auto* node = turn.state.find(event.node);
  if (node == nullptr) turn.respond(event.request, unknown("node", event.node.text));
  return node;
}

// The same, and no other controller has it.
template <class Event>
NodeState* node_of_ours(Turn& turn, const Event& event) {
  auto* node = named_node(turn, event);
  return node == nullptr || refuse_held(turn, event.request, *node) ? nullptr : node;
}

// What every request that would change a node has to pass first. Null: it was answered.
template <class Event>
NodeState* ready_node(Turn& turn, const Event& event) {
  auto* node = node_of_ours(turn, event);
  if (node == nullptr) return nullptr;
  const auto answer = [&](Outcome outcome, std::string detail) {
    turn.respond(event.request, {outcome, std::move(detail), {}, 0, view_of(turn.state, *node)});
    return nullptr;
  };
  if (!node->wanted)
    return answer(Outcome::unreachable,
                  node->name.text + " has never been read, so there is nothing to change yet.");
  if (event.if_revision && *event.if_revision != node->wanted->revision)
    return answer(Outcome::stale, "The wanted settings are at revision " +
                                      std::to_string(node->wanted->revision) + ", not " +
                                      std::to_string(*event.if_revision) +
                                      ": somebody changed them in between.");
  if (node->change && node->change->view.stage == ChangeStage::interrupted)
    return answer(Outcome::unreachable, node->change->view.reason);
  if (node->change || node->adopting)
    return answer(Outcome::busy, "Another change of " + node->name.text + " is under way.");
  if (const auto switching = switch_under_way(turn.state); !switching.empty())
    return answer(Outcome::busy, switching);
  return node;
}

std::string what_was_asked(Turn& turn, const NodeState& node, const plan::Settings& settings) {
  const auto& sheet = *turn.state.plan_of(node).datasheet;
  return in_words(node.wanted->settings, sheet) + " → " + in_words(settings, sheet);
}

// True if the verdict lets the request go on; else it was journaled and answered.
template <class Event>
bool may_go_on(Turn& turn, const Event& event, NodeState& node, const plan::Settings& settings,
               const Verdict& verdict, const std::optional<Waiver>& waiver) {
  const bool signed_for = waiver && waiver->is_signed();
  if (!verdict.refuses() && (!verdict.needs_waiver() || signed_for)) return true;
  const auto outcome = verdict.refuses() ? Outcome::refused : Outcome::needs_waiver;
  auto entry = turn.entry(JournalKind::refused, event.who, &node);
  entry.what = what_was_asked(turn, node, settings);
  for (const auto& finding : verdict.findings)
    if (finding.rule == Rule::filter_known && !finding.concerns.empty())
      entry.what += ", asked for filter \"" + finding.concerns.front() + '"';
  entry.why = event.why;
  entry.verdict = in_words(verdict);
  entry.fate = name_of(outcome);
  turn.record({std::move(entry)});
  turn.respond(event.request,
               {outcome,
                verdict.refuses() ? "Refused; nothing was changed."
                                  : "There are cautions: a named person has to say why to go on.",
                verdict, 0, view_of(turn.state, node)});
  return false;
}

// The line that a request names. Null: it was answered.
template <class Event>
LineView* find_up(Turn& turn, const Event& event) {
  auto* line = turn.state.find(event.line);
  if (line == nullptr) {
    turn.respond(event.request, unknown("line", event.line.text));
    return nullptr;
  }
  if (line->up) return line;
  turn.respond(event.request, {Outcome::unreachable,
                               "Line " + line->name.text + " is down: " + line->reason + '.',
                               {},
                               0,
                               nullptr});
  return nullptr;
}

// The first of those that its last search found.
std::string found_on(const LineView& line) {
  constexpr std::size_t most = 8;
  std::vector<std::string> uids;
  for (const auto& found : line.discovered) {
    if (uids.size() == most) {
      uids.push_back(std::to_string(line.discovered.size() - most) + " more");
      break;
    }
    uids.push_back(found.uid.text());
  }
  return uids.empty() ? "none, search it first" : listed(uids);
}

// A command goes out when it stands in the journal, like a change.
void record_command(Turn& turn, const std::string& who, const NodeState& node, std::string what,
                    AfterRecord then) {
  auto entry = turn.entry(JournalKind::command, who, &node);
  entry.what = std::move(what);
  turn.record({std::move(entry)}, {}, std::move(then));
}

}  // namespace

void on_request(Turn& turn, const ChangeRequested& event) {
  auto* node = ready_node(turn, event);
  if (node == nullptr) return;
  const auto& planned = turn.state.plan_of(*node);
  auto [settings, findings] = propose(planned, node->wanted->settings, event.patch);
  auto verdict = check(turn.surroundings(), planned, settings);
  verdict.findings.insert(verdict.findings.begin(), std::make_move_iterator(findings.begin()),
                          std::make_move_iterator(findings.end()));
  if (event.dry_run) {
    turn.respond(event.request,
                 {Outcome::checked, {}, std::move(verdict), 0, view_of(turn.state, *node)});
    return;
  }
  if (!may_go_on(turn, event, *node, settings, verdict, event.waiver)) return;
  const bool already = node->seen && node->link == Link::answering &&
                       node->seen->settings == settings && node->wanted->settings == settings;
  if (already) {
    turn.respond(event.request, {Outcome::settled, "It is already so; nothing was sent.",
                                 std::move(verdict), 0, view_of(turn.state, *node)});
    return;
  }
  begin_change(turn, *node,
               {settings, std::move(verdict), event.waiver, event.request, event.who, event.why});
}

void on_request(Turn& turn, const ReapplyRequested& event) {
  auto* node = ready_node(turn, event);
  if (node == nullptr) return;
  const auto settings = node->wanted->settings;
  auto around = turn.surroundings();
  around.locked = false;  // what was locked in is what a lock is for
  auto verdict = check(around, turn.state.plan_of(*node), settings);
  if (!may_go_on(turn, event, *node, settings, verdict, event.waiver)) return;
  begin_change(
      turn, *node,
      {settings, std::move(verdict), event.waiver, event.request, event.who, event.why, true});
}

void on_request(Turn& turn, const AdoptRequested& event) {
  auto* node = ready_node(turn, event);
  if (node == nullptr) return;
  const auto settings = node->seen ? node->seen->settings : node->wanted->settings;
  if (!node->seen) {
    turn.respond(event.request, {Outcome::unreachable,
                                 node->name.text + " has not been read since the daemon started.",
                                 {},
                                 0,
                                 view_of(turn.state, *node)});
    return;
  }
  auto verdict = check(turn.surroundings(), turn.state.plan_of(*node), settings);
  if (!may_go_on(turn, event, *node, settings, verdict, event.waiver)) return;
  auto entry = turn.entry(JournalKind::adopted, event.who, node);
  entry.what = what_was_asked(turn, *node, settings);
  entry.why = event.why;
  entry.verdict = in_words(verdict);
  if (event.waiver) entry.waiver = event.waiver->text();
  node->adopting = true;
  turn.record({std::move(entry)}, {KeepWanted{node->uid, {settings, node->wanted->revision + 1}}},
              ThenAdopt{event.request, node->uid, settings, std::move(verdict)});
}

void on_request(Turn& turn, const SegmentRequested& event) {
  if (turn.state.plan->find(event.segment) == nullptr) {
    turn.respond(event.request, unknown("segment", event.segment.text));
    return;
  }
  if (auto switching = switch_under_way(turn.state); !switching.empty()) {
    turn.respond(event.request, {Outcome::busy, std::move(switching), {}, 0, nullptr});
    return;
  }
  // While another has the nodes it only says what is on the air there.
  if (turn.state.lock && turn.state.control != Control::watching) {
    turn.respond(event.request, {Outcome::refused,
                                 "The rack is locked for the show. Unlock it first.",
                                 {{{Rule::show_locked,
                                    Severity::refuse,
                                    {},
                                    {},
                                    {},
                                    "The rack is locked for the show. Unlock it first."}}},
                                 0,
                                 nullptr});
    return;
  }
  auto entry = turn.entry(JournalKind::segment, event.who);
  entry.what = turn.state.segment.text + " → " + event.segment.text;
  entry.why = event.why;
  turn.record({std::move(entry), turn.on_the_air(event.segment, event.who)},
              {KeepSegment{event.segment.text}, KeepReached{"", turn.now}},
              ThenSegment{event.request, event.segment});
}

void on_request(Turn& turn, const LockRequested& event) {
  std::optional<Lock> lock;
  if (event.locked) lock = Lock{event.who, event.why, turn.now};
  auto entry = turn.entry(JournalKind::lock, event.who);
  entry.what = event.locked ? "locked" : "unlocked";
  entry.why = event.why;
  turn.record({std::move(entry)}, {KeepLock{lock}}, ThenLock{event.request, lock});
}

void on_request(Turn& turn, const LocateRequested& event) {
  const auto* node = node_of_ours(turn, event);
  if (node == nullptr) return;
  record_command(turn, event.who, *node, "locate for " + std::to_string(event.seconds) + " s",
                 ThenLocate{event.request, node->uid, event.seconds});
}

void on_request(Turn& turn, const LocateFoundRequested& event) {
  auto* line = find_up(turn, event);
  if (line == nullptr) return;
  const auto row = std::ranges::find(line->discovered, event.node, &LineView::Discovery::uid);
  if (row == line->discovered.end()) {
    turn.respond(event.request,
                 {Outcome::unknown_name,
                  "uid " + event.node.text() + ": the last search of line " + line->name.text +
                      " found no such node; allowed: " + found_on(*line) + '.',
                  {},
                  0,
                  nullptr});
    return;
  }
  const auto* node = turn.state.find(event.node);
  if (node != nullptr && refuse_held(turn, event.request, *node)) return;
  auto entry = turn.entry(JournalKind::command, event.who, node);
  entry.what = "locate " + event.node.text() + " on " + line->name.text + " for " +
               std::to_string(event.seconds) + " s";
  turn.record({std::move(entry)}, {},
              ThenLocateFound{event.request, event.line, event.node, event.seconds});
}

void on_request(Turn& turn, const StoreRequested& event) {
  const auto* node = node_of_ours(turn, event);
  if (node == nullptr) return;
  if (node->seen && node->wanted && node->seen->settings != node->wanted->settings) {
    turn.respond(event.request,
                 {Outcome::refused,
                  node->name.text + " shows other settings than are wanted; adopt them or re-apply "
                                    "first, so that it keeps what is wanted.",
                  {},
                  0,
                  view_of(turn.state, *node)});
    return;
  }
  record_command(turn, event.who, *node, "store the settings in force on the node",
                 ThenStore{event.request, node->uid});
}

void on_request(Turn& turn, const ReclaimRequested& event) {
  auto* node = named_node(turn, event);
  if (node == nullptr) return;
  const auto refuse = [&](std::string detail) {
    turn.respond(event.request,
                 {Outcome::refused, std::move(detail), {}, 0, view_of(turn.state, *node)});
  };
  if (!node->obeys_other)
    return refuse(node->name.text +
                  " does not say that it obeys another epoch than ours: there is "
                  "nothing to reclaim.");
  const auto highest = *node->obeys_other;
  if (could_be_an_epoch(highest, turn.state.epoch, turn.now))
    return refuse(node->name.text + " obeys another controller (epoch " +
                  std::to_string(highest.value) + "): take over instead, if it is to obey ours.");
  auto entry = turn.entry(JournalKind::command, event.who, node);
  entry.what = "reclaim from epoch " + std::to_string(highest.value);
  entry.why = event.why;
  turn.record({std::move(entry)}, {}, ThenReclaim{event.request, node->uid, highest});
}

void on_request(Turn& turn, const DiscoverRequested& event) {
  auto* line = find_up(turn, event);
  if (line == nullptr) return;
  if (!line->searching) {
    line->searching = true;
    line->discovered.clear();
    line->trouble.clear();
    turn.state.lines_dirty = true;
    turn.effects.emplace_back(Search{line->name});
    auto entry = turn.entry(JournalKind::command, event.who);
    entry.what = "discover on " + line->name.text;
    turn.record({std::move(entry)});
  }
  turn.respond(event.request, {Outcome::done, {}, {}, 0, nullptr});
}

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
    if (wanted == node.wanted) continue;
    writes.emplace_back(wanted ? Write{KeepWanted{uid, *wanted}} : Write{ForgetWanted{uid}});
    if (!wanted) continue;
    auto found = turn.entry(JournalKind::found, "rack", &node);
    found.what =
        "taken over as it is: " + in_words(wanted->settings, *turn.state.plan_of(node).datasheet);
    entries.push_back(std::move(found));
  }
  if (lock) {
    entries.front().what += ", locked: " + lock->why;
    writes.emplace_back(KeepLock{lock});
  }
  turn.record(std::move(entries), std::move(writes),
              ThenSpeakAs{event.request, next, !event.renews, lock, std::move(taken)});
}

}  // namespace catwalk::rack
