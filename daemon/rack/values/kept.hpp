// SPDX-License-Identifier: Apache-2.0
#pragma once
// What outlives the daemon, and is handed back when it starts.

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/plan/node_settings.hpp"
#include "daemon/rack/values/alarm.hpp"
#include "daemon/rack/values/epochs.hpp"
#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/time.hpp"
#include "daemon/rack/values/waiver.hpp"
#include "protocol/our_epochs.hpp"
#include "protocol/values.hpp"

namespace catwalk::rack {

// The settings a node should have, and how often that has been decided anew.
struct Wanted {
  plan::NodeSettings settings;
  std::uint64_t revision = 1;
  friend bool operator==(const Wanted&, const Wanted&) = default;
};

// A change whose intent is durable and whose fate is not known yet.
struct Unfinished {
  ChangeId change = 0;
  protocol::NodeUid node;
  plan::NodeSettings before;
  plan::NodeSettings after;
  friend bool operator==(const Unfinished&, const Unfinished&) = default;
};

// A switch whose intent is durable and whose end is not known yet, or that is stuck. The way is not
// here: after a restart it is computed anew, from what the nodes show.
struct UnfinishedSwitch {
  struct Node {
    protocol::NodeUid uid;
    plan::NodeSettings before;
    plan::NodeSettings target;
    bool left_out = false;  // it stays as it is, and is wanted at the target all the same
    friend bool operator==(const Node&, const Node&) = default;
  };
  ChangeId id = 0;
  std::string left;
  std::string entered;
  std::string cue;  // that it leads to; empty: none
  std::string who;
  std::string why;
  std::optional<Waiver> waiver;
  bool back = false;         // it was being rolled back
  std::uint32_t step = 0;    // that was about to be put in force, from 1; 0: none yet
  std::uint64_t ticket = 0;  // of that step: its ChangeId
  std::vector<Node> nodes;
  bool restores = false;  // it brings back what has drifted
  bool stuck = false;     // it has ended so: nothing is to be gone on with, only to be told
  friend bool operator==(const UnfinishedSwitch&, const UnfinishedSwitch&) = default;
};

struct Lock {
  std::string who;
  std::string why;
  TimePoint since;
  friend bool operator==(const Lock&, const Lock&) = default;
};

// Who says that it is done, and when.
struct Ticked {
  std::string who;
  TimePoint at;
  friend bool operator==(const Ticked&, const Ticked&) = default;
};
// Of a row of a crew sheet (way/crew_sheet.hpp), that of the way from `left` to `entered`.
struct CrewTick {
  std::string left;
  std::string entered;
  std::string row;   // its key
  std::string said;  // by the row when it was ticked
  Ticked ticked;
  friend bool operator==(const CrewTick&, const CrewTick&) = default;

  bool is_of_same_row(const CrewTick& other) const {
    return left == other.left && entered == other.entered && row == other.row;
  }
};

// What the store hands back at start.
struct Restored {
  std::map<protocol::NodeUid, Wanted> wanted = {};
  std::vector<Unfinished> unfinished = {};
  std::optional<Lock> lock = {};
  std::string segment = {};         // empty: never chosen
  protocol::Epoch epoch = {};       // ours for this run: already higher than any before
  protocol::OurEpochs spoken = {};  // those that nodes were spoken to under
  EpochShare share = {};            // of those to come
  ChangeId last_change = 0;
  std::vector<Alarm> alarms = {};  // in the order of their numbers
  AlarmId last_alarm = 0;          // numbers are never used again
  std::optional<UnfinishedSwitch> switching = {};
  std::string cue = {};  // empty: nowhere in the running order
  std::map<std::string, TimePoint> reached = {};
  std::vector<CrewTick> ticks = {};
};

}  // namespace catwalk::rack
