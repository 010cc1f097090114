// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/alarm_list.hpp"

#include <algorithm>
#include <cstdint>
#include <iterator>
#include <tuple>

namespace catwalk::rack {
namespace {

struct KindInList {
  AlarmKind kind;
  std::string_view words;
  AlarmPriority priority;
};
constexpr KindInList kinds_in_list[]{
    {AlarmKind::drifted, "not as wanted", AlarmPriority::medium},
    {AlarmKind::silent, "silent", AlarmPriority::medium},
    {AlarmKind::passive, "no supply", AlarmPriority::high},
    {AlarmKind::line_down, "line down", AlarmPriority::medium},
    {AlarmKind::other_controller, "another controller", AlarmPriority::high},
    {AlarmKind::wrong_type, "wrong type", AlarmPriority::medium},
    {AlarmKind::change_failed, "change failed", AlarmPriority::medium},
    {AlarmKind::off_plan, "off plan", AlarmPriority::high},
    {AlarmKind::journal_failed, "journal not written", AlarmPriority::urgent},
    {AlarmKind::switch_failed, "switch failed", AlarmPriority::urgent},
    {AlarmKind::trigger_held, "trigger held", AlarmPriority::high},
    {AlarmKind::epoch_out_of_reach, "epoch out of reach", AlarmPriority::medium},
    {AlarmKind::babbling, "babbling", AlarmPriority::low},
    {AlarmKind::certificate, "certificate", AlarmPriority::low},
    {AlarmKind::journal_broken, "journal broken", AlarmPriority::low},
    {AlarmKind::cue_blocked, "armed cue blocked", AlarmPriority::high},
    {AlarmKind::not_fed, "not fed", AlarmPriority::high},
};

// Of a kind that nobody has listed here: its name, and at once.
KindInList in_list(AlarmKind kind) {
  const auto* found = std::ranges::find(kinds_in_list, kind, &KindInList::kind);
  return found != std::end(kinds_in_list) ? *found
                                          : KindInList{kind, name_of(kind), AlarmPriority::urgent};
}

}  // namespace

std::string_view in_words(AlarmKind kind) { return in_list(kind).words; }
AlarmPriority priority_of(AlarmKind kind) { return in_list(kind).priority; }

AlarmState state_of(const Alarm& alarm) {
  if (alarm.shelved) return AlarmState::shelved;
  if (alarm.returned) return AlarmState::returned;
  return alarm.acknowledged_by ? AlarmState::acknowledged : AlarmState::active;
}

std::optional<AlarmId> stands_under(const Alarm& alarm, const std::vector<Alarm>& all) {
  if (!alarm.cause) return std::nullopt;
  const auto cause = std::ranges::find(all, *alarm.cause, &Alarm::id);
  if (cause == all.end()) return std::nullopt;
  const bool is_seen = cause->acknowledged_by || cause->shelved;
  return is_seen && !alarm.acknowledged_by ? std::nullopt : alarm.cause;
}

std::vector<Alarm> worst_first(std::vector<Alarm> alarms) {
  const auto key = [](const Alarm& alarm) {
    return std::tuple{priority_of(alarm.kind), -alarm.raised.time_since_epoch().count(),
                      -static_cast<std::int64_t>(alarm.id)};
  };
  std::ranges::sort(alarms, {}, key);
  return alarms;
}

}  // namespace catwalk::rack
