// SPDX-License-Identifier: Apache-2.0
#pragma once
// Alarms in the states of IEC 62682 / ISA-18.2: active or returned, acknowledged or not. An alarm
// that has returned and is acknowledged is over and leaves the list.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/rack/time.hpp"

namespace catwalk::rack {

using AlarmId = std::uint64_t;

enum class AlarmKind {
  drifted,  // seen is not wanted, and nobody here asked for it
  silent,   // the node does not answer
  passive,  // the node's supply is gone: no gain, no filter
  line_down,
  other_controller,  // the node obeys a higher epoch than ours
  wrong_type,        // the node says it is of another type than the rack file does
  change_failed,
  off_plan,        // what is in force on the node is refused by the rules
  journal_failed,  // nothing can be recorded, so nothing may be changed
  switch_failed,   // the last switch was rolled back, or is stuck
  trigger_held,    // a cue was triggered and no switch came of it
};
constexpr auto last_alarm_kind = AlarmKind::trigger_held;
// "drifted", "line-down"
std::string_view name_of(AlarmKind kind);

struct Alarm {
  AlarmId id = 0;
  AlarmKind kind = AlarmKind::drifted;
  std::string subject;  // name of a node or of a line; empty: the whole rack
  std::string sentence;
  TimePoint raised;
  std::optional<TimePoint> returned;  // absent: active
  std::optional<std::string> acknowledged_by;
  friend bool operator==(const Alarm&, const Alarm&) = default;

  bool active() const { return !returned; }
  bool over() const { return returned && acknowledged_by; }
};

}  // namespace catwalk::rack
