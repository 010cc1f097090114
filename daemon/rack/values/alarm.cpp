// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/alarm.hpp"

#include <algorithm>
#include <iterator>
#include <tuple>

namespace catwalk::rack {
namespace {

struct KindRow {
  AlarmKind kind;
  std::string_view name;
  std::string_view words;
  AlarmPriority priority;
};
constexpr KindRow kind_rows[]{
    {AlarmKind::drifted, "drifted", "not as wanted", AlarmPriority::medium},
    {AlarmKind::silent, "silent", "silent", AlarmPriority::medium},
    {AlarmKind::passive, "passive", "no supply", AlarmPriority::high},
    {AlarmKind::line_down, "line-down", "line down", AlarmPriority::medium},
    {AlarmKind::other_controller, "other-controller", "another controller", AlarmPriority::high},
    {AlarmKind::wrong_type, "wrong-type", "wrong type", AlarmPriority::medium},
    {AlarmKind::change_failed, "change-failed", "change failed", AlarmPriority::medium},
    {AlarmKind::off_plan, "off-plan", "off plan", AlarmPriority::high},
    {AlarmKind::journal_failed, "journal-failed", "journal not written", AlarmPriority::urgent},
    {AlarmKind::switch_failed, "switch-failed", "switch failed", AlarmPriority::urgent},
    {AlarmKind::trigger_held, "trigger-held", "trigger held", AlarmPriority::high},
    {AlarmKind::epoch_out_of_reach, "epoch-out-of-reach", "epoch out of reach",
     AlarmPriority::medium},
    {AlarmKind::babbling, "babbling", "babbling", AlarmPriority::low},
    {AlarmKind::certificate, "certificate", "certificate", AlarmPriority::low},
    {AlarmKind::journal_broken, "journal-broken", "journal broken", AlarmPriority::low},
    {AlarmKind::cue_blocked, "cue-blocked", "armed cue blocked", AlarmPriority::high},
};
static_assert(std::size(kind_rows) == static_cast<std::size_t>(last_alarm_kind) + 1);

const KindRow& row_of(AlarmKind kind) { return kind_rows[static_cast<std::size_t>(kind)]; }

// The rows stand in the order of the kinds.
static_assert([] {
  for (std::size_t i = 0; i < std::size(kind_rows); ++i)
    if (kind_rows[i].kind != static_cast<AlarmKind>(i)) return false;
  return true;
}());

}  // namespace

std::string_view name_of(AlarmKind kind) { return row_of(kind).name; }
std::string_view in_words(AlarmKind kind) { return row_of(kind).words; }
AlarmPriority priority_of(AlarmKind kind) { return row_of(kind).priority; }

std::string_view name_of(AlarmState state) {
  switch (state) {
    case AlarmState::active:
      return "active";
    case AlarmState::returned:
      return "returned";
    case AlarmState::acknowledged:
      return "acknowledged";
    case AlarmState::shelved:
      return "shelved";
  }
  return "?";
}

std::string_view name_of(AlarmPriority priority) {
  switch (priority) {
    case AlarmPriority::urgent:
      return "urgent";
    case AlarmPriority::high:
      return "high";
    case AlarmPriority::medium:
      return "medium";
    case AlarmPriority::low:
      return "low";
  }
  return "?";
}

std::optional<AlarmId> stands_under(const Alarm& alarm, const std::vector<Alarm>& all) {
  if (!alarm.cause) return std::nullopt;
  const auto cause = std::ranges::find(all, *alarm.cause, &Alarm::id);
  if (cause == all.end()) return std::nullopt;
  const bool is_seen = cause->acknowledged_by || cause->shelved;
  return is_seen && !alarm.acknowledged_by ? std::nullopt : alarm.cause;
}

std::vector<Alarm> worst_first(std::vector<Alarm> alarms) {
  std::ranges::sort(alarms, [](const Alarm& one, const Alarm& other) {
    const auto key = [](const Alarm& alarm) {
      return std::tuple{priority_of(alarm.kind), -alarm.raised.time_since_epoch().count(),
                        -static_cast<std::int64_t>(alarm.id)};
    };
    return key(one) < key(other);
  });
  return alarms;
}

}  // namespace catwalk::rack
