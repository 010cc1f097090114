// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "daemon/rack/state.hpp"

namespace catwalk::rack {
namespace {

auto find_alarm(State& state, AlarmKind kind, const std::string& subject) {
  return std::ranges::find_if(state.alarms, [&](const Alarm& alarm) {
    return alarm.kind == kind && alarm.subject == subject;
  });
}

void journal(Turn& turn, const Alarm& alarm, std::string what) {
  auto entry = turn.entry(JournalKind::alarm, "rack");
  entry.node = alarm.subject;
  entry.what = std::string{name_of(alarm.kind)} + ' ' + std::move(what);
  entry.why = alarm.sentence;
  const auto write = alarm.over() ? Write{ForgetAlarm{alarm.id}} : Write{KeepAlarm{alarm}};
  turn.record({std::move(entry)}, {write});
}

}  // namespace

void raise_alarm(Turn& turn, AlarmKind kind, const std::string& subject, std::string sentence) {
  auto& state = turn.state;
  auto found = find_alarm(state, kind, subject);
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
    state.alarms.push_back({++state.last_alarm, kind, subject, {}, {}, {}, {}});
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
  journal(turn, *found, "returned");
  if (found->over()) state.alarms.erase(found);
}

void on_request(Turn& turn, const AcknowledgeRequested& event) {
  auto& state = turn.state;
  const auto found = std::ranges::find(state.alarms, event.alarm, &Alarm::id);
  if (found == state.alarms.end()) {
    turn.respond(event.request, {Outcome::unknown_name,
                                 "There is no alarm no. " + std::to_string(event.alarm) + '.',
                                 {},
                                 0,
                                 nullptr});
    return;
  }
  found->acknowledged_by = event.who;
  state.alarms_dirty = true;
  journal(turn, *found, "acknowledged by " + event.who);
  if (found->over()) state.alarms.erase(found);
  turn.respond(event.request, {Outcome::done, {}, {}, 0, nullptr});
}

}  // namespace catwalk::rack
