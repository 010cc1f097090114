// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/alarms.hpp"

#include <algorithm>
#include <iterator>

#include "daemon/plan/time_zone.hpp"
#include "daemon/rack/core/running_order.hpp"

namespace catwalk::rack {
namespace {

// `state`: const or not, and so what is found.
auto find_alarm(auto& state, AlarmKind kind, const std::string& subject) {
  return std::ranges::find_if(state.alarms, [&](const Alarm& alarm) {
    return alarm.kind == kind && alarm.subject == subject;
  });
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

using Place = std::vector<Alarm>::iterator;

bool is_of_the_field(AlarmKind kind) {
  switch (kind) {
    case AlarmKind::silent:
    case AlarmKind::passive:
    case AlarmKind::line_down:
    case AlarmKind::drifted:
    case AlarmKind::off_plan:
    case AlarmKind::wrong_type:
    case AlarmKind::babbling:
      return true;
    default:
      return false;
  }
}

bool show_has_begun(const State& state) { return !state.reached.empty() || state.lock; }

// An alarm that is over leaves the list.
void leave_if_over(State& state, Place alarm) {
  if (alarm->over()) state.alarms.erase(alarm);
}

// Nothing: there is none, and it was answered.
std::optional<Place> asked_for(Turn& turn, RequestId request, AlarmId id) {
  auto& alarms = turn.state.alarms;
  const auto found = std::ranges::find(alarms, id, &Alarm::id);
  if (found != alarms.end()) return found;
  turn.respond(
      request,
      {Outcome::unknown_name, "There is no alarm no. " + std::to_string(id) + '.', {}, 0, nullptr});
  return std::nullopt;
}

void done(Turn& turn, RequestId request, const Alarm& alarm) {
  turn.respond(request, {Outcome::done, {}, {}, 0, nullptr, {}, alarm});
}

// Tells of something that has happened, not of a condition that lasts: each time is another one.
bool tells_of_an_event(AlarmKind kind) {
  return kind == AlarmKind::switch_failed || kind == AlarmKind::change_failed ||
         kind == AlarmKind::trigger_held;
}

}  // namespace

void raise_alarm(Turn& turn, AlarmKind kind, const std::string& subject, std::string sentence) {
  auto& state = turn.state;
  auto found = find_alarm(state, kind, subject);
  if (found != state.alarms.end() && tells_of_an_event(kind)) {
    // Whoever has shelved the last one has not seen this one.
    found->shelved.reset();
    found->returned = found->returned.value_or(turn.now);
  }
  if (found != state.alarms.end() && found->active()) {
    if (found->sentence == sentence) return;
    // The same again, but otherwise: it has to be looked at anew.
    found->sentence = std::move(sentence);
    found->acknowledged_by.reset();
    state.alarms_dirty = true;
    journal(turn, *found, "raised");
    return;
  }
  if (found == state.alarms.end()) {
    state.alarms.push_back({++state.last_alarm, kind, subject, {}, {}, {}, {}, {}});
    found = std::prev(state.alarms.end());
  }
  found->sentence = std::move(sentence);
  found->raised = turn.now;
  found->returned.reset();
  found->acknowledged_by.reset();
  state.alarms_dirty = true;
  journal(turn, *found, "raised");
}

void return_alarm(Turn& turn, AlarmKind kind, const std::string& subject) {
  auto& state = turn.state;
  const auto found = find_alarm(state, kind, subject);
  if (found == state.alarms.end() || !found->active()) return;
  found->returned = turn.now;
  state.alarms_dirty = true;
  if (!found->acknowledged_by && is_of_the_field(kind) && !show_has_begun(state))
    found->acknowledged_by = "rack";
  journal(turn, *found, "returned");
  leave_if_over(state, found);
}

bool is_raised(const State& state, AlarmKind kind, const std::string& subject) {
  const auto found = find_alarm(state, kind, subject);
  return found != state.alarms.end() && found->active();
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
  turn.state.alarms_dirty = true;
  journal(turn, alarm, "acknowledged by " + who, who);
}

}  // namespace

std::string subject_of_other(const State& state, const NodeState& node) {
  if (state.control != Control::ours) return {};
  return node.held == Held::with_line ? state.plan_of(node).line.text : node.name.text;
}

void find_causes(State& state) {
  const auto active = [&](AlarmKind kind, const std::string& subject) -> std::optional<AlarmId> {
    const auto found = find_alarm(state, kind, subject);
    return found != state.alarms.end() && found->active() ? std::optional{found->id} : std::nullopt;
  };
  for (auto& alarm : state.alarms) {
    alarm.cause.reset();
    const auto* node = state.find(plan::NodeName{alarm.subject});
    if (!alarm.active() || node == nullptr) continue;
    if (alarm.kind == AlarmKind::silent)
      alarm.cause = active(AlarmKind::line_down, state.plan_of(*node).line.text);
    else if (alarm.kind == AlarmKind::drifted || alarm.kind == AlarmKind::off_plan)
      alarm.cause = active(AlarmKind::passive, alarm.subject);
    // What is right for it only the other one knows.
    if (alarm.kind == AlarmKind::off_plan && !state.has(*node))
      alarm.cause = active(AlarmKind::other_controller, subject_of_other(state, *node));
  }
}

void on_request(Turn& turn, const AcknowledgeRequested& event) {
  const auto found = asked_for(turn, event.request, event.alarm);
  if (!found) return;
  find_causes(turn.state);
  for (auto& other : turn.state.alarms)
    if (other.cause == event.alarm && !other.acknowledged_by) acknowledge(turn, other, event.who);
  acknowledge(turn, **found, event.who);
  done(turn, event.request, **found);
  leave_if_over(turn.state, *found);
}

void on_request(Turn& turn, const AcknowledgeManyRequested& event) {
  auto& state = turn.state;
  for (const auto id : event.alarms)
    if (id == 0 || id > state.last_alarm)
      return turn.respond(event.request, {Outcome::unknown_name,
                                          "There is no alarm no. " + std::to_string(id) +
                                              ", and nothing was "
                                              "acknowledged.",
                                          {},
                                          0,
                                          nullptr});
  find_causes(state);
  const auto is_meant = [&](const Alarm& alarm) {
    const auto named = [&](AlarmId id) {
      return std::ranges::find(event.alarms, id) != event.alarms.end();
    };
    return event.alarms.empty() || named(alarm.id) || (alarm.cause && named(*alarm.cause));
  };
  std::size_t count = 0;
  for (auto& alarm : state.alarms)
    if (!alarm.acknowledged_by && is_meant(alarm)) {
      acknowledge(turn, alarm, event.who);
      ++count;
    }
  std::erase_if(state.alarms, [](const Alarm& alarm) { return alarm.over(); });
  turn.respond(event.request,
               {Outcome::done,
                std::to_string(count) + (count == 1 ? " alarm" : " alarms") + " acknowledged.",
                {},
                0,
                nullptr});
}

void on_request(Turn& turn, const ShelveRequested& event) {
  const auto found = asked_for(turn, event.request, event.alarm);
  if (!found) return;
  auto& alarm = **found;
  alarm.shelved = Shelving{event.who, event.why, turn.now + event.lasting};
  turn.state.alarms_dirty = true;
  journal(turn, alarm,
          "shelved by " + event.who + " until " + plan::in_words(alarm.shelved->until) + ": " +
              event.why,
          event.who);
  done(turn, event.request, alarm);
}

void on_request(Turn& turn, const UnshelveRequested& event) {
  const auto found = asked_for(turn, event.request, event.alarm);
  if (!found) return;
  auto& alarm = **found;
  if (alarm.shelved) {
    alarm.shelved.reset();
    turn.state.alarms_dirty = true;
    journal(turn, alarm, "unshelved by " + event.who, event.who);
  }
  done(turn, event.request, alarm);
  leave_if_over(turn.state, *found);
}

void end_shelvings(Turn& turn) {
  auto& alarms = turn.state.alarms;
  for (auto alarm = alarms.begin(); alarm != alarms.end();) {
    if (!alarm->shelved || turn.now < alarm->shelved->until) {
      ++alarm;
      continue;
    }
    alarm->shelved.reset();
    turn.state.alarms_dirty = true;
    journal(turn, *alarm, "shelved no longer: its time is over");
    alarm = alarm->over() ? alarms.erase(alarm) : std::next(alarm);
  }
}

void shelvings_move_with_clock(Turn& turn, std::chrono::microseconds by) {
  for (auto& alarm : turn.state.alarms) {
    if (!alarm.shelved) continue;
    alarm.shelved->until += by;
    turn.state.alarms_dirty = true;
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
