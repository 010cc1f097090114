// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/alarms.hpp"

#include <algorithm>

#include "daemon/plan/time_zone.hpp"
#include "daemon/rack/core/running_order.hpp"

namespace catwalk::rack {
namespace {

// Null: there is none.
const Alarm* find_alarm(const State& state, AlarmKind kind, const std::string& subject) {
  const auto found = std::ranges::find_if(state.alarms, [&](const Alarm& alarm) {
    return alarm.kind == kind && alarm.subject == subject;
  });
  return found == state.alarms.end() ? nullptr : &*found;
}

const Alarm* find_active(const State& state, AlarmKind kind, const std::string& subject) {
  const auto* found = find_alarm(state, kind, subject);
  return found != nullptr && found->active() ? found : nullptr;
}

Write kept(const Alarm& alarm) {
  return alarm.over() ? Write{ForgetAlarm{alarm.id}} : Write{KeepAlarm{alarm}};
}

void journal(Turn& turn, const Alarm& alarm, std::string what, const std::string& who = "rack") {
  auto entry = turn.entry(JournalKind::alarm, who);
  entry.node = alarm.subject;
  entry.what = std::string{name_of(alarm.kind)} + ' ' + std::move(what);
  entry.why = alarm.sentence;
  turn.record({std::move(entry)}, {kept(alarm)});
}

bool is_of_the_field(AlarmKind kind) {
  switch (kind) {
    case AlarmKind::silent:
    case AlarmKind::passive:
    case AlarmKind::line_down:
    case AlarmKind::drifted:
    case AlarmKind::off_plan:
    case AlarmKind::wrong_type:
    case AlarmKind::babbling:
    case AlarmKind::not_fed:
      return true;
    default:
      return false;
  }
}

bool show_has_begun(const State& state) { return !state.reached.empty() || state.lock; }

// Alarms that are over leave the list.
void drop_over(State& state) {
  state.alarms.erase_if([](const Alarm& alarm) { return alarm.over(); });
}

// Null: there is none, and it was answered.
const Alarm* asked_for(Turn& turn, RequestId request, AlarmId id) {
  const auto& alarms = turn.state.alarms;
  const auto found = std::ranges::find(alarms, id, &Alarm::id);
  if (found != alarms.end()) return &*found;
  turn.respond(request,
               {Outcome::unknown_name, "There is no alarm no. " + std::to_string(id) + '.'});
  return nullptr;
}

void done(Turn& turn, RequestId request, const Alarm& alarm, std::string detail = {}) {
  turn.respond(request, {Outcome::done, std::move(detail), {}, 0, nullptr, {}, alarm});
}

// Tells of something that has happened, not of a condition that lasts: each time is another one.
bool tells_of_an_event(AlarmKind kind) {
  return kind == AlarmKind::switch_failed || kind == AlarmKind::change_failed ||
         kind == AlarmKind::trigger_held;
}

}  // namespace

void raise_alarm(Turn& turn, AlarmKind kind, const std::string& subject, std::string sentence) {
  auto& alarms = turn.state.alarms;
  const auto* known = find_alarm(turn.state, kind, subject);
  // The same again is nothing new; said otherwise, it has to be looked at anew.
  const bool lasts = known != nullptr && known->active() && !tells_of_an_event(kind);
  if (lasts && known->sentence == sentence) return;
  auto& alarm = known != nullptr
                    ? alarms.write(*known)
                    : alarms.add({++turn.state.last_alarm, kind, subject, {}, {}, {}, {}, {}});
  // Whoever has shelved the last event has not seen this one.
  if (tells_of_an_event(kind)) alarm.shelved.reset();
  alarm.sentence = std::move(sentence);
  alarm.acknowledged_by.reset();
  if (!lasts) {
    alarm.raised = turn.now;
    alarm.returned.reset();
  }
  journal(turn, alarm, "raised");
}

void return_alarm(Turn& turn, AlarmKind kind, const std::string& subject) {
  auto& state = turn.state;
  const auto* found = find_active(state, kind, subject);
  if (found == nullptr) return;
  auto& alarm = state.alarms.write(*found);
  alarm.returned = turn.now;
  if (!alarm.acknowledged_by && is_of_the_field(kind) && !show_has_begun(state))
    alarm.acknowledged_by = "rack";
  journal(turn, alarm, "returned");
  drop_over(state);
}

bool is_raised(const State& state, AlarmKind kind, const std::string& subject) {
  return find_active(state, kind, subject) != nullptr;
}

std::optional<Write> end_of_alarm(const Turn& turn, AlarmKind kind, const std::string& subject) {
  if (!is_raised(turn.state, kind, subject)) return std::nullopt;
  auto alarm = *find_alarm(turn.state, kind, subject);
  alarm.returned = turn.now;
  return kept(alarm);
}

namespace {

void acknowledge(Turn& turn, Alarm& alarm, const std::string& who) {
  alarm.acknowledged_by = who;
  journal(turn, alarm, "acknowledged by " + who, who);
}

}  // namespace

std::string subject_of_other(const State& state, const NodeState& node) {
  if (state.control != Control::ours) return {};
  return node.held == Held::with_line ? state.plan_of(node).line().text : node.name.text;
}

void find_causes(State& state) {
  const auto active = [&](AlarmKind kind, const std::string& subject) -> std::optional<AlarmId> {
    const auto* found = find_active(state, kind, subject);
    return found != nullptr ? std::optional{found->id} : std::nullopt;
  };
  // An amplifier lives on its cable, and the matrix there on its own supply.
  const auto why_passive = [&](const NodeState& node) -> std::optional<AlarmId> {
    if (const auto not_fed = active(AlarmKind::not_fed, node.name.text)) return not_fed;
    const auto* amplifier = state.plan_of(node).amplifier();
    if (amplifier == nullptr || !amplifier->ends_at) return std::nullopt;
    return active(AlarmKind::passive, amplifier->ends_at->matrix.text);
  };
  for (std::size_t place = 0; place < state.alarms.size(); ++place) {
    auto& alarm = state.alarms.write_at(place);
    alarm.cause.reset();
    const auto* node = state.find(plan::NodeName{alarm.subject});
    if (!alarm.active() || node == nullptr) continue;
    if (alarm.kind == AlarmKind::silent)
      alarm.cause = active(AlarmKind::line_down, state.plan_of(*node).line().text);
    else if (alarm.kind == AlarmKind::passive)
      alarm.cause = why_passive(*node);
    else if (alarm.kind == AlarmKind::drifted || alarm.kind == AlarmKind::off_plan)
      if (const auto passive = active(AlarmKind::passive, alarm.subject); passive)
        alarm.cause = why_passive(*node).value_or(*passive);
    // What is right for it only the other one knows.
    if (alarm.kind == AlarmKind::off_plan && !state.has(*node))
      alarm.cause = active(AlarmKind::other_controller, subject_of_other(state, *node));
  }
}

void on_request(Turn& turn, const AcknowledgeRequested& event) {
  auto& alarms = turn.state.alarms;
  const auto* found = asked_for(turn, event.request, event.alarm);
  if (found == nullptr) return;
  find_causes(turn.state);
  for (const auto& other : alarms)
    if (other.cause == event.alarm && !other.acknowledged_by)
      acknowledge(turn, alarms.write(other), event.who);
  acknowledge(turn, alarms.write(*found), event.who);
  done(turn, event.request, *found);
  drop_over(turn.state);
}

void on_request(Turn& turn, const AcknowledgeManyRequested& event) {
  auto& state = turn.state;
  for (const auto id : event.alarms)
    if (id == 0 || id > state.last_alarm)
      return turn.respond(event.request,
                          {Outcome::unknown_name, "There is no alarm no. " + std::to_string(id) +
                                                      ", and nothing was acknowledged."});
  find_causes(state);
  const auto is_meant = [&](const Alarm& alarm) {
    const auto named = [&](AlarmId id) {
      return std::ranges::find(event.alarms, id) != event.alarms.end();
    };
    return event.alarms.empty() || named(alarm.id) || (alarm.cause && named(*alarm.cause));
  };
  std::size_t count = 0;
  for (const auto& alarm : state.alarms)
    if (!alarm.acknowledged_by && is_meant(alarm)) {
      acknowledge(turn, state.alarms.write(alarm), event.who);
      ++count;
    }
  drop_over(state);
  turn.respond(event.request,
               {Outcome::done,
                std::to_string(count) + (count == 1 ? " alarm" : " alarms") + " acknowledged."});
}

void on_request(Turn& turn, const ShelveRequested& event) {
  const auto* found = asked_for(turn, event.request, event.alarm);
  if (found == nullptr) return;
  auto& alarm = turn.state.alarms.write(*found);
  alarm.shelved = Shelving{event.who, event.why, turn.now + event.lasting};
  journal(turn, alarm,
          "shelved by " + event.who + " until " + plan::in_words(alarm.shelved->until) + ": " +
              event.why,
          event.who);
  done(turn, event.request, alarm);
}

void on_request(Turn& turn, const UnshelveRequested& event) {
  const auto* found = asked_for(turn, event.request, event.alarm);
  if (found == nullptr) return;
  const bool was_shelved = found->shelved.has_value();
  if (was_shelved) {
    auto& alarm = turn.state.alarms.write(*found);
    alarm.shelved.reset();
    journal(turn, alarm, "unshelved by " + event.who, event.who);
  }
  done(turn, event.request, *found, was_shelved ? "" : "It was not shelved.");
  drop_over(turn.state);
}

void end_shelvings(Turn& turn) {
  for (const auto& shelved : turn.state.alarms) {
    if (!shelved.shelved || turn.now < shelved.shelved->until) continue;
    auto& alarm = turn.state.alarms.write(shelved);
    alarm.shelved.reset();
    journal(turn, alarm, "shelved no longer: its time is over");
  }
  drop_over(turn.state);
}

void shelvings_move_with_clock(Turn& turn, std::chrono::microseconds by) {
  for (const auto& shelved : turn.state.alarms) {
    if (!shelved.shelved) continue;
    auto& alarm = turn.state.alarms.write(shelved);
    alarm.shelved->until += by;
    turn.state.owed.add({{}, {KeepAlarm{alarm}}});
  }
}

std::optional<TimePoint> next_end_of_shelving(const State& state) {
  std::optional<TimePoint> first;
  for (const auto& alarm : state.alarms)
    if (alarm.shelved) first = std::min(first.value_or(alarm.shelved->until), alarm.shelved->until);
  return first;
}

}  // namespace catwalk::rack
