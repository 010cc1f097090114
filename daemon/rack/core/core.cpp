// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/core.hpp"

#include <algorithm>
#include <iterator>
#include <map>

#include "daemon/plan/time_zone.hpp"
#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/changes.hpp"
#include "daemon/rack/core/crew.hpp"
#include "daemon/rack/core/field.hpp"
#include "daemon/rack/core/requests.hpp"
#include "daemon/rack/core/running_order.hpp"
#include "daemon/rack/core/switch_begin.hpp"
#include "daemon/rack/core/switch_end.hpp"
#include "daemon/rack/core/switch_steps.hpp"
#include "daemon/rack/core/switch_way.hpp"
#include "daemon/rack/core/watching.hpp"
#include "daemon/rack/values/plan_differences.hpp"
#include "daemon/rack/values/wording.hpp"
#include "protocol/overloaded.hpp"

namespace catwalk::rack {
namespace {

std::string who_is_off_plan(const State& state) {
  std::vector<std::string> names;
  for (const auto& node : state.nodes)
    if (node.standing.refuses()) names.push_back(node.name.text);
  if (names.empty()) return {};
  return "Off plan in this segment as they are set now: " + listed(names) + ".";
}

Answer hangs_there_no_more() {
  return {Outcome::unknown_name,
          "Another device hangs there by a plan that was read since; nothing was sent.",
          {},
          0,
          nullptr};
}

// The journal has it that the node's settings were adopted, and what is wanted was kept with that;
// but a plan that was read meanwhile has another device there. It says so, and what is wanted of
// the node by that plan is kept again.
void not_adopted(Turn& turn, const ThenAdopt& then, const NodeState* node) {
  auto entry = turn.entry(JournalKind::fate, "rack", node);
  entry.what = "adopt from " + then.node.text();
  entry.fate = "not adopted: another device hangs there by a plan that was read since";
  std::vector<Write> writes;
  if (node != nullptr && node->wanted) writes.emplace_back(KeepWanted{then.node, *node->wanted});
  turn.record({std::move(entry)}, std::move(writes));
  turn.respond(then.request, hangs_there_no_more());
}

void recorded(Turn& turn, const AfterRecord& after) {
  auto& state = turn.state;
  // To a node that a plan may have taken away meanwhile.
  const auto send = [&](RequestId request, protocol::NodeUid uid, protocol::Request what,
                        AfterCommand then) {
    if (const auto* node = state.find(uid))
      turn.send(*node, std::move(what), std::move(then));
    else
      turn.respond(request, hangs_there_no_more());
  };
  std::visit(
      Overloaded{
          [](const ThenNothing&) {},
          [&](const ThenStage& then) {
            auto* node = state.find(then.node);
            if (node != nullptr && node->change) stage_change(turn, *node);
          },
          [&](const ThenAdopt& then) {
            auto* found = state.find(then.node);
            if (found == nullptr || !found->adopting || !found->wanted)
              return not_adopted(turn, then, found);
            auto& node = *found;
            node.adopting = false;
            node.wanted = Wanted{then.settings, node.wanted->revision + 1};
            node.dirty = true;
            turn.settings_changed(node);
            if (node.seen && node.seen->settings == then.settings)
              return_alarm(turn, AlarmKind::drifted, node.name.text);
            turn.respond(then.request,
                         {Outcome::settled, {}, then.verdict, 0, view_of(state, node)});
          },
          [&](const ThenLock& then) {
            state.lock = then.lock;
            state.rack_dirty = true;
            ++state.conditions;
            turn.respond(then.request, {Outcome::done, counts_only_here(state), {}, 0, nullptr});
          },
          [&](const ThenSegment& then) {
            if (state.plan->find(then.segment) == nullptr)
              return turn.respond(then.request,
                                  {Outcome::unknown_name,
                                   "The segment went away with a plan that was read since.",
                                   {},
                                   0,
                                   nullptr});
            state.owed.add({{}, begin_sheets_anew(state, state.segment, then.segment)});
            state.segment = then.segment;
            // Chosen is on the air too: under no name, since no cue counts from it.
            state.reached[""] = turn.now;
            // The order goes on from there; its times count from no cue that was triggered.
            if (const auto cue = cue_for(state, then.segment)) {
              state.owed.add({{}, {KeepCue{cue->text}}});
              place_in_order(state, *cue);
              aim(turn);
            }
            state.rack_dirty = true;
            turn.conditions_changed();
            refresh_standing(turn, state.nodes.size());
            auto detail = counts_only_here(state);
            if (detail.empty()) detail = who_is_off_plan(state);
            turn.respond(then.request, {Outcome::done, std::move(detail), {}, 0, nullptr});
          },
          [&](const ThenSpeakAs& then) {
            state.epoch = then.epoch;
            if (!then.takes_over && state.control != Control::ours)
              return turn.respond(then.request,
                                  {Outcome::refused,
                                   "Another controller has the nodes by now: take over first.",
                                   {},
                                   0,
                                   nullptr});
            const bool locks = then.lock && !state.lock;
            if (locks) state.lock = then.lock;
            state.rack_dirty = true;
            ++state.conditions;
            if (then.takes_over) state.take_over_waits = false;
            take_control(turn, then.takes_over, then.nodes);
            turn.respond(then.request, {Outcome::done,
                                        then.nodes.empty() ? "" : after_take_over(state, locks),
                                        {},
                                        0,
                                        nullptr});
          },
          [&](const ThenControl&) { epoch_kept(turn); },
          [&](const ThenLocate& then) {
            send(then.request, then.node, protocol::Locate{then.seconds},
                 ForRequest{then.request, then.node});
          },
          [&](const ThenLocateFound& then) {
            turn.send_on(then.line, then.node, protocol::Locate{then.seconds},
                         ForFound{then.request, then.line, then.node});
          },
          [&](const ThenStore& then) {
            send(then.request, then.node, protocol::Store{state.epoch},
                 ForRequest{then.request, then.node});
          },
          [&](const ThenReclaim& then) {
            send(then.request, then.node, protocol::Reclaim{state.epoch, then.highest, 0, {}},
                 ForReclaim{then.request, then.node});
          },
          [&](const ThenSwitch& then) { intent_of_switch_recorded(turn, then.change); },
          [&](const ThenStep& then) { step_recorded(turn, then.ticket, nullptr); },
          [&](const ThenEndSwitch& then) { turn.respond(then.request, then.answer); },
      },
      after);
  return_alarm(turn, AlarmKind::journal_failed, {});
}

// Everything has moved as it says, but a daemon that is stopped now does not know it: "done" would
// promise more than can be kept.
void answer_without_record(Turn& turn, const ThenEndSwitch& then, const std::string& reason) {
  auto answer = then.answer;
  const auto unkept = "The journal could not be written: " + reason + ".";
  if (answer.outcome == Outcome::done) {
    answer.detail = unkept + " The switch is done. " + answer.detail;
    if (answer.detail.ends_with(' ')) answer.detail.pop_back();
    answer.outcome = Outcome::not_recorded;
  } else {
    answer.detail += ' ' + unkept;
  }
  turn.respond(then.request, std::move(answer));
}

void record_failed(Turn& turn, PendingRecord record, const std::string& reason) {
  auto& state = turn.state;
  state.owed.add(std::move(record.owed));
  state.owed_again = turn.now + std::chrono::seconds{1};
  const auto refuse = [&](RequestId request) {
    turn.respond(request, {Outcome::not_recorded,
                           "The journal could not be written: " + reason + ". Nothing was changed.",
                           {},
                           0,
                           nullptr});
  };
  std::visit(
      Overloaded{
          [](const ThenNothing&) {},
          [&](const ThenStage& then) {
            auto* node = state.find(then.node);
            if (node != nullptr && node->change) intent_not_recorded(turn, *node, reason);
          },
          [&](const ThenAdopt& then) {
            if (auto* node = state.find(then.node); node != nullptr && node->adopting) {
              node->adopting = false;
              // What was owed of this node was left out for the adoption's sake.
              if (node->wanted)
                state.owed.writes.emplace_back(KeepWanted{node->uid, *node->wanted});
            }
            refuse(then.request);
          },
          [&](const ThenLock& then) { refuse(then.request); },
          [&](const ThenSegment& then) { refuse(then.request); },
          [&](const ThenSpeakAs& then) {
            if (then.takes_over) state.take_over_waits = false;
            ask_again(state, turn.now);
            refuse(then.request);
          },
          // A disk that is full must not keep the rack from its daemon.
          [&](const ThenControl&) {
            state.owed.writes.emplace_back(KeepSpoken{state.epoch});
            epoch_kept(turn);
          },
          [&](const ThenLocate& then) { refuse(then.request); },
          [&](const ThenLocateFound& then) { refuse(then.request); },
          [&](const ThenStore& then) { refuse(then.request); },
          [&](const ThenReclaim& then) { refuse(then.request); },
          [&](const ThenSwitch& then) { intent_of_switch_not_recorded(turn, then.change, reason); },
          [&](const ThenStep& then) { step_recorded(turn, then.ticket, &reason); },
          [&](const ThenEndSwitch& then) { answer_without_record(turn, then, reason); },
      },
      record.after);
  if (!is_raised(state, AlarmKind::journal_failed, {}))
    raise_alarm(
        turn, AlarmKind::journal_failed, {},
        "The journal cannot be written (" + reason + "): no change can be made until it can.");
}

// To whoever asked for a command by itself. `reply` null: there was none, which `unanswered` says.
Answer answer_of_command(const State& state, protocol::NodeUid uid, const protocol::Reply* reply,
                         std::string unanswered) {
  const auto* node = state.find(uid);
  Answer answer{Outcome::done, {}, {}, 0, node ? view_of(state, *node) : nullptr};
  if (reply == nullptr) {
    answer.outcome = Outcome::unreachable;
    answer.detail = std::move(unanswered);
  } else if (const auto* refusal = std::get_if<protocol::Refusal>(reply)) {
    answer.outcome = Outcome::failed;
    answer.detail =
        "The node refused: " + std::string{protocol::sentence_of(refusal->reason)} + '.';
  }
  return answer;
}

Answer answer_of_reclaim(Turn& turn, protocol::NodeUid uid, const protocol::Reply* reply,
                         protocol::Fault fault) {
  auto* node = turn.state.find(uid);
  if (node == nullptr)
    return {Outcome::unknown_name, "The node is no longer in the rack.", {}, 0, nullptr};
  if (reply != nullptr && !std::holds_alternative<protocol::Refusal>(*reply)) {
    node->obeys_other.reset();
    node->told_nonsense = false;
    return_alarm(turn, AlarmKind::epoch_out_of_reach, node->name.text);
  }
  return answer_of_command(
      turn.state, uid, reply,
      node->name.text + " was not reclaimed: " + std::string{name_of(fault)} + '.');
}

void command_ended(Turn& turn, CommandId id, const protocol::Reply* reply, protocol::Fault fault) {
  auto& state = turn.state;
  const auto found = state.commands.find(id);
  if (found == state.commands.end()) return;
  const AfterCommand after = found->second;
  state.commands.erase(found);
  const std::string why{name_of(fault)};
  std::visit(
      Overloaded{
          [&](const StepOfChange& step) {
            auto* node = state.find(step.node);
            if (node == nullptr || !node->change || node->change->view.id != step.change) return;
            if (reply != nullptr)
              step_answered(turn, *node, *reply);
            else
              step_failed(turn, *node, fault);
          },
          [&](const ForRequest& ask) {
            turn.respond(ask.request, answer_of_command(state, ask.node, reply,
                                                        "The node did not answer (" + why + ")."));
          },
          [&](const ForFound& ask) {
            turn.respond(ask.request, answer_of_command(state, ask.node, reply,
                                                        ask.node.text() + " on line " +
                                                            ask.line.text + " did not answer (" +
                                                            why + "). Search the line again."));
          },
          [&](const ForReclaim& ask) {
            turn.respond(ask.request, answer_of_reclaim(turn, ask.node, reply, fault));
          },
          [&](const StepOfSwitch& step) {
            step_command_ended(turn, step.line, step.node, step.ticket, reply, fault);
          },
          [](const ForNobody&) {},
      },
      after);
}

// A segment of this plan was chosen, and its record is on its way: it decides.
bool is_choosing_segment(const State& state) {
  return std::ranges::any_of(state.records, [&](const auto& record) {
    const auto* then = std::get_if<ThenSegment>(&record.second.after);
    return then != nullptr && state.plan->find(then->segment) != nullptr;
  });
}

// Same nodes keep what is known of them; the plan around them is new.
void replace_plan(Turn& turn, const PlanReplaced& event) {
  auto& state = turn.state;
  auto old_nodes = std::move(state.nodes);
  // What is wanted belongs to the place that a name stands for, whatever hangs there now.
  std::map<plan::NodeName, std::optional<Wanted>> wanted_at;
  for (const auto& node : old_nodes) wanted_at.emplace(node.name, node.wanted);
  std::vector<Write> writes;
  const auto cue =
      state.at_cue ? state.plan->running_order.cues[*state.at_cue].name : plan::CueName{};
  const auto differences = differences_of(*state.plan, *event.plan);
  const auto* was = state.plan->find(state.segment);
  const auto were = was == nullptr ? std::string{} : on_the_air(*was);
  state.plan = event.plan;
  state.nodes.clear();
  state.by_uid.clear();
  for (const auto& planned : event.plan->nodes) {
    const auto uid = protocol::NodeUid::from_bits(planned.uid);
    const auto known = std::ranges::find(old_nodes, uid, &NodeState::uid);
    NodeState node = known == old_nodes.end() ? NodeState{} : std::move(*known);
    const auto place = wanted_at.find(planned.name);
    if (node.name != planned.name) node.adopting = false;  // that was for the other place
    if (node.name != planned.name && place != wanted_at.end()) {
      // What was said of the device that hung there is not true of this one.
      for (const auto kind : {AlarmKind::babbling, AlarmKind::wrong_type,
                              AlarmKind::other_controller, AlarmKind::epoch_out_of_reach})
        return_alarm(turn, kind, planned.name.text);
      node.wanted = place->second;
      if (node.wanted && !check_datasheet(planned, node.wanted->settings).empty())
        node.wanted.reset();  // another type hangs there
      if (node.wanted) writes.emplace_back(KeepWanted{uid, *node.wanted});
    }
    node.name = planned.name;
    node.uid = uid;
    node.dirty = node.standing_dirty = true;
    state.by_uid.emplace(uid, state.nodes.size());
    state.nodes.push_back(std::move(node));
  }
  name_discovered(state);
  // A change that was interrupted waits for a device that will not answer any more.
  for (const auto& old : old_nodes)
    if (old.change && state.find(old.uid) == nullptr)
      writes.emplace_back(ForgetUnfinished{old.change->view.id});
  ++state.conditions;
  if (event.plan->find(state.segment) == nullptr) state.segment = event.plan->segments[0].name;
  state.rack_dirty = true;
  // Arming was for what the running order said then.
  if (state.armed) return_alarm(turn, AlarmKind::cue_blocked, state.armed->cue.text);
  state.armed.reset();
  state.reload_armed.reset();
  state.ahead.reset();
  place_in_order(state, cue);
  aim(turn);
  std::ranges::move(drop_untrue_ticks(state), std::back_inserter(writes));
  auto entry = turn.entry(JournalKind::plan, event.who);
  entry.what = "plan replaced: " + event.plan->name;
  entry.why = differences.empty() ? "nothing differs" : few_of(differences);
  std::vector<JournalEntry> entries{std::move(entry)};
  if (on_the_air(state.active()) != were)
    entries.push_back(turn.on_the_air(state.segment, event.who));
  if (!is_choosing_segment(state)) writes.emplace_back(KeepSegment{state.segment.text});
  turn.record(std::move(entries), std::move(writes));
}

// "turned away 300 times from 192.0.2.7 since 2026-08-14 20:15:00Z"
void turned_away(Turn& turn, const TurnedAway& event) {
  auto entry = turn.entry(JournalKind::turned_away, event.who);
  entry.what = "turned away ";
  entry.what += event.times == 1 ? "once" : std::to_string(event.times) + " times";
  entry.what += " from " + event.from + " since " + plan::in_words(event.since);
  entry.why = event.why;
  turn.record({std::move(entry)});
}

void certificate_judged(Turn& turn, const CertificateJudged& event) {
  if (event.trouble.empty())
    return_alarm(turn, AlarmKind::certificate, {});
  else
    raise_alarm(turn, AlarmKind::certificate, {}, event.trouble);
}

// A change that the daemon was stopped in waits for its node to be read. Of several of one node
// only the last can still be decided: a later one was only begun because those before had ended.
void take_up(Turn& turn, const Unfinished& unfinished) {
  auto& state = turn.state;
  auto* node = state.find(unfinished.node);
  if (node == nullptr || !node->wanted) {
    auto entry = turn.entry(JournalKind::fate, "rack");
    entry.change = unfinished.change;
    entry.fate = "unknown: its node is no longer in the rack file";
    state.owed.add({{std::move(entry)}, {ForgetUnfinished{unfinished.change}}});
    return;
  }
  if (node->change) {
    auto& earlier = node->change->view;
    earlier.stage = ChangeStage::failed;
    earlier.reason = "The daemon was stopped before its fate could be recorded.";
    earlier.ended = turn.now;
    *std::ranges::find(state.changes, earlier.id, &ChangeView::id) = earlier;
    auto entry = turn.entry(JournalKind::fate, earlier.who, node);
    entry.change = earlier.id;
    entry.fate = "unknown: " + earlier.reason;
    state.owed.add({{std::move(entry)}, {ForgetUnfinished{earlier.id}}});
  }
  ChangeView view{unfinished.change,
                  node->name,
                  ChangeStage::interrupted,
                  "rack",
                  {},
                  unfinished.before,
                  unfinished.after,
                  "The daemon was stopped in the middle; the node has to be read.",
                  turn.now,
                  {}};
  node->change = Change{view, {}};
  state.changes.push_back(view);
}

template <class T, class Source>
void share(std::shared_ptr<const T>& part, bool& dirty, const Source& source) {
  if (!dirty) return;
  part = std::make_shared<const T>(source.begin(), source.end());
  dirty = false;
}

// A new snapshot if anything visible changed; the parts that did not are shared with the last one.
void publish(Turn& turn) {
  auto& state = turn.state;
  state.standing_left = !refresh_standing(turn);
  if (state.switch_dirty && state.switching) state.switch_view = view_of_switch(state);
  const bool nodes_dirty = std::ranges::any_of(state.nodes, &NodeState::dirty);
  if (!nodes_dirty && !state.lines_dirty && !state.alarms_dirty && !state.ticks_dirty &&
      !state.changes_dirty && !state.rack_dirty && !state.switch_dirty)
    return;
  auto next =
      state.snapshot ? std::make_shared<Snapshot>(*state.snapshot) : std::make_shared<Snapshot>();
  if (nodes_dirty) {
    next->nodes.resize(state.nodes.size());
    for (std::size_t i = 0; i < state.nodes.size(); ++i) {
      auto& node = state.nodes[i];
      if (node.dirty) node.view = view_of(state, node);
      node.dirty = false;
      next->nodes[i] = node.view;
    }
  }
  share(next->lines, state.lines_dirty, state.lines);
  if (state.alarms_dirty) find_causes(state);
  share(next->alarms, state.alarms_dirty, state.alarms);
  share(next->ticks, state.ticks_dirty, state.ticks);
  share(next->changes, state.changes_dirty, state.changes);
  state.rack_dirty = state.switch_dirty = false;
  // Whoever is answered is shown the node as it stands at the end of the turn.
  for (auto& effect : turn.effects)
    if (auto* respond = std::get_if<Respond>(&effect); respond != nullptr && respond->answer.node)
      if (const auto* node = state.find(respond->answer.node->name))
        respond->answer.node = node->view;
  next->revision = ++state.revision;
  next->at = turn.now;
  next->plan = state.plan;
  next->segment = state.segment;
  next->epoch = state.epoch;
  next->spoken = state.spoken;
  next->control = state.control;
  next->watching_because = state.watching_because;
  next->other_heard = state.other_heard;
  next->lock = state.lock;
  next->switching = state.switch_view;
  next->order = order_of(state);
  state.snapshot = next;
  // What nodes wait for goes first; the snapshot goes before the answers, so that whoever is
  // answered finds in it what they were told; records are last, since no answer waits for them.
  const auto rest = std::stable_partition(
      turn.effects.begin(), turn.effects.end(),
      [](const Effect& effect) { return std::holds_alternative<Send>(effect); });
  std::stable_partition(rest, turn.effects.end(), [](const Effect& effect) {
    return std::holds_alternative<Respond>(effect);
  });
  turn.effects.insert(rest, Publish{std::move(next)});
}

template <class T>
concept PeopleAsk = requires(Turn& turn, const T& event) {
  on_request(turn, event);
};
// Nothing of these without control of the nodes.
template <class T>
constexpr bool moves_nodes =
    std::is_same_v<T, ChangeRequested> || std::is_same_v<T, AdoptRequested> ||
    std::is_same_v<T, ReapplyRequested> || std::is_same_v<T, RestoreRequested> ||
    std::is_same_v<T, SwitchRequested> || std::is_same_v<T, MessageReceived> ||
    std::is_same_v<T, AbortRequested> || std::is_same_v<T, ArmRequested> ||
    std::is_same_v<T, LocateRequested> || std::is_same_v<T, LocateFoundRequested> ||
    std::is_same_v<T, StoreRequested> || std::is_same_v<T, ReclaimRequested> ||
    std::is_same_v<T, DiscoverRequested>;

template <class T>
concept FieldSays = requires(Turn& turn, const T& event) {
  on_field_event(turn, event);
};

}  // namespace

Core::Core(std::shared_ptr<const plan::RackPlan> plan, Restored restored, TimePoint now,
           AskFirst ask_first)
    : state_{std::make_unique<State>()} {
  auto& state = *state_;
  state.plan = std::move(plan);
  state.segment = {restored.segment};
  if (state.plan->find(state.segment) == nullptr) state.segment = state.plan->segments[0].name;
  state.lock = restored.lock;
  state.epoch = restored.epoch;
  state.spoken = std::move(restored.spoken);
  state.share = restored.share;
  state.last_change = restored.last_change;
  state.alarms = std::move(restored.alarms);
  state.last_alarm = restored.last_alarm;
  for (const auto& name : state.plan->lines)
    state.lines.push_back({name, false, "not opened yet", false, {}, {}, false});
  for (const auto& planned : state.plan->nodes) {
    NodeState node;
    node.name = planned.name;
    node.uid = protocol::NodeUid::from_bits(planned.uid);
    if (const auto kept = restored.wanted.find(node.uid); kept != restored.wanted.end())
      node.wanted = kept->second;
    state.by_uid.emplace(node.uid, state.nodes.size());
    state.nodes.push_back(std::move(node));
  }
  for (auto& alarm : state.alarms) {
    const bool of_cue =
        alarm.kind == AlarmKind::trigger_held || alarm.kind == AlarmKind::cue_blocked;
    const bool subject_left = !alarm.subject.empty() && !of_cue &&
                              state.find(plan::NodeName{alarm.subject}) == nullptr &&
                              state.find(plan::LineName{alarm.subject}) == nullptr;
    if (alarm.active() && subject_left) alarm.returned = now;
  }
  begin_asking(state, std::move(ask_first), now);
  std::vector<Effect> ignored;
  Turn turn{state, now, ignored};
  for (const auto& unfinished : restored.unfinished) take_up(turn, unfinished);
  state.reached = std::move(restored.reached);
  state.ticks = std::move(restored.ticks);
  state.owed.add({{}, drop_untrue_ticks(state)});
  place_in_order(state, {restored.cue});
  aim(turn);
  if (restored.switching) take_up_switch(turn, *restored.switching);
  publish(turn);
}

Core::Core(Core&&) noexcept = default;
Core& Core::operator=(Core&&) noexcept = default;
Core::~Core() = default;

SnapshotPtr Core::snapshot() const { return state_->snapshot; }

std::optional<TimePoint> Core::deadline() const {
  const auto& state = *state_;
  std::optional<TimePoint> first;
  const auto also = [&first](TimePoint at) { first = first ? std::min(*first, at) : at; };
  if (state.standing_left) also(TimePoint{});
  if (state.due && state.control == Control::ours) also(*state.due);
  if (state.asking_until) also(*state.asking_until);
  if (state.armed) also(state.armed->until);
  if (state.reload_armed) also(state.reload_armed->until);
  if (const auto end = next_end_of_shelving(state)) also(*end);
  if (!state.owed.empty()) also(state.owed_again);
  return first;
}

std::vector<Effect> Core::on(const Event& event, TimePoint now) {
  std::vector<Effect> effects;
  Turn turn{*state_, now, effects};
  const auto take_record = [&](RecordId id) {
    auto node = state_->records.extract(id);
    return node.empty() ? std::optional<PendingRecord>{} : std::optional{std::move(node.mapped())};
  };
  std::visit(
      [&]<class T>(const T& what) {
        if constexpr (PeopleAsk<T>) {
          if constexpr (moves_nodes<T>)
            if (refuse_without_control(turn, what.request)) return;
          on_request(turn, what);
        } else if constexpr (FieldSays<T>) {
          on_field_event(turn, what);
        } else if constexpr (std::is_same_v<T, CommandAnswered>) {
          command_ended(turn, what.command, &what.reply, {});
        } else if constexpr (std::is_same_v<T, CommandFailed>) {
          command_ended(turn, what.command, nullptr, what.fault);
        } else if constexpr (std::is_same_v<T, Recorded>) {
          if (const auto record = take_record(what.record)) recorded(turn, record->after);
        } else if constexpr (std::is_same_v<T, RecordFailed>) {
          if (auto record = take_record(what.record))
            record_failed(turn, std::move(*record), what.reason);
        } else if constexpr (std::is_same_v<T, JournalFound>) {
          if (what.trouble.empty())
            return_alarm(turn, AlarmKind::journal_broken, {});
          else
            raise_alarm(turn, AlarmKind::journal_broken, {}, what.trouble);
        } else if constexpr (std::is_same_v<T, PlanReplaced>) {
          replace_plan(turn, what);
        } else if constexpr (std::is_same_v<T, TurnedAway>) {
          turned_away(turn, what);
        } else if constexpr (std::is_same_v<T, CertificateJudged>) {
          certificate_judged(turn, what);
        } else if constexpr (std::is_same_v<T, WayPlanned>) {
          way_planned(turn, what);
        } else if constexpr (std::is_same_v<T, ClockStepped>) {
          clock_stepped(turn, what.by);
        } else {
          static_assert(std::is_same_v<T, Tick>);
        }
      },
      event);
  keep_asking(turn);
  if (state_->control == Control::ours) resume_if_read(turn);
  keep_time(turn);
  end_shelvings(turn);
  turn.pay_debts();
  publish(turn);
  return effects;
}

}  // namespace catwalk::rack
