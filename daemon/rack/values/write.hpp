// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a record writes besides rows of the journal. One record is one transaction: all of it is
// durable, or none of it.

#include <cstdint>
#include <optional>
#include <string>
#include <variant>

#include "daemon/rack/values/kept.hpp"

namespace catwalk::rack {

struct KeepWanted {
  protocol::NodeUid node;
  Wanted wanted;
  friend bool operator==(const KeepWanted&, const KeepWanted&) = default;
};
struct KeepUnfinished {
  Unfinished unfinished;
  friend bool operator==(const KeepUnfinished&, const KeepUnfinished&) = default;
};
// The node is met anew.
struct ForgetWanted {
  protocol::NodeUid node;
  friend bool operator==(const ForgetWanted&, const ForgetWanted&) = default;
};
struct ForgetUnfinished {
  ChangeId change = 0;
  friend bool operator==(const ForgetUnfinished&, const ForgetUnfinished&) = default;
};
struct KeepLock {
  std::optional<Lock> lock;
  friend bool operator==(const KeepLock&, const KeepLock&) = default;
};
struct KeepSegment {
  std::string segment;
  friend bool operator==(const KeepSegment&, const KeepSegment&) = default;
};
struct KeepEpoch {
  protocol::Epoch epoch;
  friend bool operator==(const KeepEpoch&, const KeepEpoch&) = default;
};

// Alarms outlive the daemon: what nobody has acknowledged is still there after a restart.
struct KeepAlarm {
  Alarm alarm;
  friend bool operator==(const KeepAlarm&, const KeepAlarm&) = default;
};
struct ForgetAlarm {
  AlarmId alarm = 0;
  friend bool operator==(const ForgetAlarm&, const ForgetAlarm&) = default;
};

// There is one at most.
struct KeepSwitch {
  UnfinishedSwitch unfinished;
  friend bool operator==(const KeepSwitch&, const KeepSwitch&) = default;
};
struct KeepSwitchStep {
  bool back = false;
  std::uint32_t step = 0;
  std::uint64_t ticket = 0;
  friend bool operator==(const KeepSwitchStep&, const KeepSwitchStep&) = default;
};
// It has ended, and its nodes are here and there: they are told after a restart too, until another
// switch begins.
struct KeepSwitchStuck {
  friend bool operator==(const KeepSwitchStuck&, const KeepSwitchStuck&) = default;
};
// Nobody knows any more what was on the air, and when.
struct ForgetReached {
  friend bool operator==(const ForgetReached&, const ForgetReached&) = default;
};
struct ForgetSwitch {
  friend bool operator==(const ForgetSwitch&, const ForgetSwitch&) = default;
};
// Where the rack is in its running order; empty: nowhere.
struct KeepCue {
  std::string cue;
  friend bool operator==(const KeepCue&, const KeepCue&) = default;
};
// When a switch to this segment was last done.
struct KeepReached {
  std::string segment;
  TimePoint at;
  friend bool operator==(const KeepReached&, const KeepReached&) = default;
};

// One more epoch that nodes are spoken to under: who obeys it obeys us.
struct KeepSpoken {
  protocol::Epoch epoch;
  friend bool operator==(const KeepSpoken&, const KeepSpoken&) = default;
};
struct KeepTick {
  CrewTick tick;
  friend bool operator==(const KeepTick&, const KeepTick&) = default;
};
// Of the same row, whoever has ticked it.
struct ForgetTick {
  CrewTick tick;
  friend bool operator==(const ForgetTick&, const ForgetTick&) = default;
};

using Write = std::variant<KeepWanted, KeepUnfinished, ForgetUnfinished, KeepLock, KeepSegment,
                           KeepEpoch, KeepAlarm, ForgetAlarm, KeepSwitch, KeepSwitchStep,
                           ForgetSwitch, KeepCue, KeepReached, KeepSpoken, KeepTick, ForgetTick,
                           ForgetWanted, ForgetReached, KeepSwitchStuck>;

}  // namespace catwalk::rack
