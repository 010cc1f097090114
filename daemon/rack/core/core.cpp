// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/core.hpp"

#include <algorithm>

#include "daemon/plan/time_zone.hpp"
#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/changes.hpp"
#include "daemon/rack/core/commands.hpp"
#include "daemon/rack/core/crew.hpp"
#include "daemon/rack/core/field.hpp"
#include "daemon/rack/core/on_the_air.hpp"
#include "daemon/rack/core/plan_replaced.hpp"
#include "daemon/rack/core/publish.hpp"
#include "daemon/rack/core/requests.hpp"
#include "daemon/rack/core/running_order.hpp"
#include "daemon/rack/core/switch_again.hpp"
#include "daemon/rack/core/switch_begin.hpp"
#include "daemon/rack/core/switch_way.hpp"
#include "daemon/rack/core/take_over.hpp"
#include "daemon/rack/core/watching.hpp"

namespace catwalk::rack {

void kept(Turn& /*turn*/, const ThenNothing&) {}
void lost(Turn& /*turn*/, const ThenNothing&, const std::string& /*reason*/) {}
void answered(Turn& /*turn*/, const ForNobody&, const protocol::Answer* /*reply*/,
              protocol::Fault /*fault*/) {}

namespace {

template <class Id, class What>
std::optional<What> take_from(std::unordered_map<Id, What>& waiting, Id id) {
  auto entry = waiting.extract(id);
  return entry.empty() ? std::optional<What>{} : std::optional{std::move(entry.mapped())};
}

void command_ended(Turn& turn, CommandId id, const protocol::Answer* reply, protocol::Fault fault) {
  if (const auto command = take_from(turn.state.commands, id))
    std::visit([&](const auto& what) { answered(turn, what, reply, fault); }, *command);
}

void hear(Turn& turn, const CommandAnswered& event) {
  command_ended(turn, event.command, &event.reply, {});
}

void hear(Turn& turn, const CommandFailed& event) {
  command_ended(turn, event.command, nullptr, event.fault);
}

void hear(Turn& turn, const Recorded& event) {
  const auto record = take_from(turn.state.records, event.record);
  if (!record) return;
  std::visit([&](const auto& then) { kept(turn, then); }, record->after);
  return_alarm(turn, AlarmKind::journal_failed, {});
}

void hear(Turn& turn, const RecordFailed& event) {
  auto& state = turn.state;
  auto record = take_from(state.records, event.record);
  if (!record) return;
  state.owed.add(std::move(record->owed));
  state.owed_again = turn.now + std::chrono::seconds{1};
  std::visit([&](const auto& then) { lost(turn, then, event.reason); }, record->after);
  if (!is_raised(state, AlarmKind::journal_failed, {}))
    raise_alarm(turn, AlarmKind::journal_failed, {},
                "The journal cannot be written (" + event.reason +
                    "): no change can be made until it can.");
}

void alarm_if(Turn& turn, AlarmKind kind, const std::string& trouble) {
  if (trouble.empty())
    return_alarm(turn, kind, {});
  else
    raise_alarm(turn, kind, {}, trouble);
}

void hear(Turn& turn, const JournalFound& event) {
  alarm_if(turn, AlarmKind::journal_broken, event.trouble);
}

void hear(Turn& turn, const CertificateJudged& event) {
  alarm_if(turn, AlarmKind::certificate, event.trouble);
}

// "turned away 300 times from 192.0.2.7 since 2026-08-14 20:15:00Z"
void hear(Turn& turn, const TurnedAway& event) {
  auto entry = turn.entry(JournalKind::turned_away, event.who);
  entry.what = "turned away ";
  entry.what += event.times == 1 ? "once" : std::to_string(event.times) + " times";
  entry.what += " from " + event.from + " since " + plan::in_words(event.since);
  entry.why = event.why;
  turn.record({std::move(entry)});
}

void hear(Turn& turn, const PlanReplaced& event) { replace_plan(turn, event); }
void hear(Turn& turn, const WayPlanned& event) { way_planned(turn, event); }
void hear(Turn& turn, const ClockStepped& event) { clock_stepped(turn, event.by); }
void hear(Turn& /*turn*/, const TimePassed&) {}

template <class T>
concept PeopleAsk = requires(Turn& turn, const T& event) {
  on_request(turn, event);
};
// Nothing of these without control of the nodes.
template <class T>
constexpr bool moves_nodes =
    std::is_same_v<T, ChangeRequested> || std::is_same_v<T, RoutesRequested> ||
    std::is_same_v<T, PowerCycleRequested> || std::is_same_v<T, AdoptRequested> ||
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
  std::vector<Effect> ignored;
  Turn turn{state, now, ignored};
  state.plan = std::move(plan);
  state.segment = {restored.segment};
  if (state.plan->find(state.segment) == nullptr) state.segment = state.plan->segments[0].name;
  state.lock = restored.lock;
  state.epoch = restored.epoch;
  state.spoken = std::move(restored.spoken);
  state.share = restored.share;
  state.last_change = restored.last_change;
  state.last_alarm = restored.last_alarm;
  for (const auto& name : state.plan->lines)
    state.lines.add({name, false, "not opened yet", false, {}, {}, false});
  for (std::size_t place = 0; place < plan::count_devices(*state.plan); ++place) {
    const auto planned = plan::device_at(*state.plan, place);
    NodeState node;
    node.name = planned.name();
    node.uid = planned.uid();
    state.by_uid.emplace(node.uid, state.nodes.size());
    auto& added = state.nodes.add(std::move(node));
    const auto kept = restored.wanted.find(added.uid);
    if (kept != restored.wanted.end() && planned.fits(kept->second.settings))
      turn.know(added, &NodeState::wanted, std::optional{kept->second});
  }
  for (auto& alarm : restored.alarms) {
    const bool of_cue =
        alarm.kind == AlarmKind::trigger_held || alarm.kind == AlarmKind::cue_blocked;
    const bool subject_left = !alarm.subject.empty() && !of_cue &&
                              state.find(plan::NodeName{alarm.subject}) == nullptr &&
                              state.find(plan::LineName{alarm.subject}) == nullptr;
    if (alarm.active() && subject_left) alarm.returned = now;
    if (alarm.over())
      state.owed.writes.emplace_back(ForgetAlarm{alarm.id});
    else
      state.alarms.add(std::move(alarm));
  }
  turn.route();
  turn.conditions_changed();
  begin_asking(state, std::move(ask_first), now);
  for (const auto& unfinished : restored.unfinished) take_up(turn, unfinished);
  state.reached = std::move(restored.reached);
  for (auto& tick : restored.ticks) state.ticks.add(std::move(tick));
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
  if (!state.standing_due.empty() && !state.switching) also(TimePoint{});
  if (state.due && state.control == Control::ours) also(*state.due);
  if (state.asking_until) also(*state.asking_until);
  if (state.armed) also(state.armed->until);
  if (state.reload_armed) also(state.reload_armed->until);
  if (const auto end = next_end_of_rest(state)) also(*end);
  if (const auto end = next_end_of_shelving(state)) also(*end);
  if (!state.owed.empty()) also(state.owed_again);
  return first;
}

std::vector<Effect> Core::on(const Event& event, TimePoint now) {
  std::vector<Effect> effects;
  Turn turn{*state_, now, effects};
  state_->outlived.clear();
  std::visit(
      [&]<class T>(const T& what) {
        if constexpr (PeopleAsk<T>) {
          if constexpr (moves_nodes<T>)
            if (refuse_without_control(turn, what.request)) return;
          on_request(turn, what);
        } else if constexpr (FieldSays<T>) {
          on_field_event(turn, what);
        } else {
          hear(turn, what);
        }
      },
      event);
  keep_asking(turn);
  if (state_->control != Control::asking) tell_stuck(turn);
  if (state_->control == Control::ours) resume_if_read(turn);
  keep_time(turn);
  end_rests(turn);
  end_shelvings(turn);
  turn.pay_debts();
  publish(turn);
  return effects;
}

}  // namespace catwalk::rack
