// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the core asks the store to keep. One Record is one transaction: all of it is durable, or
// none of it.

#include <algorithm>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daemon/plan/settings.hpp"
#include "daemon/rack/alarm.hpp"
#include "daemon/rack/epochs.hpp"
#include "daemon/rack/time.hpp"
#include "protocol/our_epochs.hpp"
#include "protocol/values.hpp"

namespace catwalk::rack {

using RecordId = std::uint64_t;
// Changes, switches and the steps of switches count together: each number is used once.
using ChangeId = std::uint64_t;

// A named person's reason to go on in spite of a caution. Both parts are needed.
struct Waiver {
  std::string who;
  std::string reason;
  friend bool operator==(const Waiver&, const Waiver&) = default;

  bool is_signed() const { return !who.empty() && !reason.empty(); }
  // "ana: heard at the rehearsal"
  std::string text() const { return who + ": " + reason; }
};

enum class JournalKind {
  intent,   // a change was accepted and is about to touch hardware
  fate,     // how a change ended
  refused,  // a change that was asked for and not made
  adopted,  // wanted follows what the node shows
  found,    // a node differs from wanted, or is met for the first time
  lock,
  segment,
  alarm,
  command,  // locate, store, discover, take-over
  plan,
  switching,  // a switch: its intent, and for each of its nodes and the rack how it ended
  step,       // a step of a switch is about to be put in force
  arming,
  turned_away,  // who came with a wrong token, or asked for what needs another role
  journal,      // the journal itself: begun anew, rows that left it
  carriers,     // what is on the air from now on, since the segment or the plan is another
  crew,         // a row of a crew sheet was ticked, or is no longer
};
constexpr auto last_journal_kind = JournalKind::crew;
std::string_view name_of(JournalKind kind);

// One line of the journal: who, when, what, verdict, fate. Texts are for people.
struct JournalEntry {
  TimePoint at;
  JournalKind kind = JournalKind::intent;
  std::string who;
  std::string node;     // empty: the whole rack
  ChangeId change = 0;  // 0: belongs to no change
  std::string segment;
  std::string what;     // "gain +3 dB → +6 dB"
  std::string why;      // as given with the request
  std::string verdict;  // one finding a line: "caution lane-conflict: …"
  std::string waiver;   // "name: reason"; empty: none was needed
  std::string fate;     // "settled", "failed: …", "refused"
  friend bool operator==(const JournalEntry&, const JournalEntry&) = default;
};

struct StoredEntry {
  std::uint64_t sequence = 0;  // 1, 2, 3 … without a gap
  JournalEntry entry;
};

// The last row and its hash, which stands for all rows up to it.
struct JournalHead {
  std::uint64_t row = 0;  // 0: there are none
  std::string hash;       // 64 hexadecimal digits
  friend bool operator==(const JournalHead&, const JournalHead&) = default;

  // "4711:9f86…", as it is written down and given back to be compared.
  std::string text() const { return std::to_string(row) + ':' + hash; }
};

// Newest first. What is absent does not narrow.
struct JournalQuery {
  std::optional<std::string> node;
  std::optional<std::string> kind;
  std::optional<ChangeId> change;
  std::optional<std::uint64_t> before = {};  // only sequences below this: the next page
  std::optional<std::string> who = {};
  std::optional<std::string> segment = {};
  std::optional<std::string> text = {};  // somewhere in it, A to Z in capitals or not
  std::optional<TimePoint> from = {};    // this moment counts
  std::optional<TimePoint> to = {};      // this one does not
  std::size_t limit = 100;               // 1 to 1000
  std::string asker = {};                // whose turn it takes; a name
  bool goes_on = false;                  // a further page of a search that was let in
};

// What one reading found. It looks at no more rows, and for no longer, than it may.
struct JournalPage {
  std::vector<StoredEntry> rows;
  // Present: it ended at its bound. All rows from this one on were looked at; whoever wants older
  // ones goes on with `before` this.
  std::optional<std::uint64_t> looked_down_to = {};
};
enum class Unread {
  failed,
  too_many_wait,  // later, perhaps
};

// The settings a node should have, and how often that has been decided anew.
struct Wanted {
  plan::Settings settings;
  std::uint64_t revision = 1;
  friend bool operator==(const Wanted&, const Wanted&) = default;
};

// A change whose intent is durable and whose fate is not known yet.
struct Unfinished {
  ChangeId change = 0;
  protocol::NodeUid node;
  plan::Settings before;
  plan::Settings after;
  friend bool operator==(const Unfinished&, const Unfinished&) = default;
};

// A switch whose intent is durable and whose end is not known yet. The way is not here: after a
// restart it is computed anew, from what the nodes show.
struct UnfinishedSwitch {
  struct Node {
    protocol::NodeUid uid;
    plan::Settings before;
    plan::Settings target;
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
// Of a row of a crew sheet (switching/crew_sheet.hpp), that of the way from `left` to `entered`.
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

// ---- writes besides the journal ----------------------------------------------------------------

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

using Write =
    std::variant<KeepWanted, KeepUnfinished, ForgetUnfinished, KeepLock, KeepSegment, KeepEpoch,
                 KeepAlarm, ForgetAlarm, KeepSwitch, KeepSwitchStep, ForgetSwitch, KeepCue,
                 KeepReached, KeepSpoken, KeepTick, ForgetTick, ForgetWanted, ForgetReached>;

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
