// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the core knows, and one turn of it. Internal to the room: others see snapshots and effects.

#include <chrono>
#include <cstdint>
#include <deque>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <unordered_map>
#include <utility>
#include <variant>
#include <vector>

#include "daemon/plan/device.hpp"
#include "daemon/rack/core/after.hpp"
#include "daemon/rack/core/effect.hpp"
#include "daemon/rack/core/event.hpp"
#include "daemon/rack/core/shown.hpp"
#include "daemon/rack/core/switch.hpp"
#include "daemon/rack/rules/rules.hpp"
#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::rack {

struct AskFirst;

// How it is known that another controller has a node.
enum class Held {
  no,
  spoken_to,  // another one speaks to it
  with_line,  // or on all of its line
  by_epoch,   // it says that it obeys one that is higher than ours
};

// Settings that a change goes by, and stays at for a while.
struct Detour {
  plan::NodeSettings settings;
  std::chrono::milliseconds lasting;
  std::string what;                       // "input 3 (quay-east) off"
  std::optional<plan::NodeName> antenna;  // whose power is cycled by that
  std::optional<TimePoint> until = {};    // since it is there
  friend bool operator==(const Detour&, const Detour&) = default;
};

struct Change {
  ChangeView view;
  std::optional<RequestId> request;  // absent: nobody waits (after a restart, or on_return)
  bool restores = false;
  std::uint64_t checked_at = 0;  // State::conditions when it was checked
  std::optional<Detour> detour = {};
  ChangeId ticket = 0;  // what is sent now goes under it

  bool is_on_detour() const { return detour && !detour->until; }
  // What it is on its way to now.
  const plan::NodeSettings& goal() const { return is_on_detour() ? detour->settings : view.after; }
};

// What is known of a node's settings. Everybody reads it, and Turn::know() alone writes it, since
// verdicts follow from it.
template <class T>
class Grounds {
 public:
  explicit operator bool() const { return value_.has_value(); }
  const T& operator*() const { return *value_; }
  const T* operator->() const { return &*value_; }
  const std::optional<T>& get() const { return value_; }

 private:
  friend struct Turn;
  std::optional<T> value_;
};

struct NodeState {
  plan::NodeName name;
  protocol::NodeUid uid;
  Grounds<Wanted> wanted;
  Grounds<Seen> seen;
  Link link = Link::unknown;
  std::optional<protocol::Identity> identity;
  Grounds<Change> change;
  Grounds<plan::NodeSettings> maybe;  // of a change nobody knows the end of; until it is read
  bool adopting = false;              // an adoption waits to be recorded
  bool was_lost = false;              // silent or its line down since it was last read
  std::optional<protocol::Epoch> obeys_other;  // higher than ours, as it says
  bool told_nonsense = false;  // such an epoch, when it was asked; until it tells another
  Held held = Held::no;        // by another controller
  std::string held_because;    // a sentence without its end
  // Another controller, gone by now, that spoke to it last; until it shows what is wanted.
  std::optional<protocol::Epoch> had_by;
  bool was_held = false;  // since it was read last: it has not come back to us
  bool cycled = false;    // its power, from here: back again, it is told what is wanted
  bool has_told = false;  // that nobody else speaks to it
  Verdict standing;       // on what is in force
  CarrierNames own;       // that it has to bring in the active segment
  NodeViewPtr view;       // as last published

  bool is_held() const { return held != Held::no; }
};

// Journal entries and writes that have to be kept, sooner or later, whatever becomes of the record
// they travel in: fates, findings, alarms.
struct Owed {
  // A disk may be full for a day, and a node may find something to say twice a second.
  static constexpr std::size_t most_entries = 2'000;
  std::vector<JournalEntry> entries;
  std::vector<Write> writes;
  std::uint64_t lost = 0;  // entries beyond that
  bool empty() const { return entries.empty() && writes.empty() && lost == 0; }
  void add(Owed other);
};
struct PendingRecord {
  AfterRecord after;
  Owed owed;
};

// The way of the armed cue, planned before it is triggered.
struct Ahead {
  WayQuestion question;
  WayId id = 0;
  std::optional<Way> way;
  bool looked_at = false;  // the way: what the cue would come to
};

struct State : RackFacts {
  // `plan` is routed as the matrices are; those before it, which this turn may still look at:
  std::vector<std::shared_ptr<const plan::RackPlan>> outlived;
  EpochShare share;                       // of our epochs to come
  protocol::Epoch highest_heard;          // of any controller, by any node
  protocol::Epoch taken_as;               // of the last take-over
  std::vector<plan::LineName> unasked;    // lines that have still to say whom their nodes obey
  std::optional<TimePoint> asking_until;  // none: that was decided
  bool take_over_waits = false;           // for its record, and decides it then
  Rows<NodeState> nodes;                  // amplifiers and matrices, as plan::device_at() has them
  std::unordered_map<protocol::NodeUid, std::size_t> by_uid;
  std::shared_ptr<KnownPhysics> physics;  // of a plan, which may have been replaced
  std::set<std::size_t> standing_due;     // nodes whose standing verdicts have to be renewed
  Rows<LineView> lines;
  Rows<Alarm> alarms;
  Rows<CrewTick> ticks;      // each of a row that says what it said
  Rows<ChangeView> changes;  // the latest, newest last

  Shown<Switch> switching;
  std::deque<Wish> wishes;          // switches that wait for their turn
  SwitchViewPtr switch_view;        // as last published; stays when the switch has ended
  SwitchViewPtr last_ended;         // the view of the last that has ended
  std::optional<Switch> unsettled;  // the last that has ended, if somebody has to see to its nodes
  std::optional<std::size_t> at_cue;
  std::map<std::string, TimePoint> reached;  // when a switch to each segment was last done
  std::optional<TimePoint> due;              // of the next cue
  bool due_moves_with_clock = false;  // it counts from a moment, and is put forward with the clock
  bool triggered = false;             // the next cue has had its time
  std::optional<Armed> armed;
  std::optional<ArmedReload> reload_armed;
  std::vector<RequestId> arm_waits;  // to be told what the cue would come to
  std::optional<Ahead> ahead;
  std::optional<WayId> ahead_awaited;     // one at a time, whatever is armed meanwhile
  std::optional<std::uint64_t> ahead_at;  // `conditions` when it was last looked at
  WayId last_way = 0;

  std::unordered_map<RecordId, PendingRecord> records;   // not yet durable
  std::unordered_map<CommandId, AfterCommand> commands;  // not yet answered
  Owed owed;                                             // of records that failed
  TimePoint owed_again;                                  // not to be tried before
  RecordId last_record = 0;
  CommandId last_command = 0;
  ChangeId last_change = 0;
  AlarmId last_alarm = 0;
  std::uint64_t revision = 0;
  std::uint64_t conditions = 0;  // counts whatever changes what a check may say

  SnapshotPtr snapshot;

  const NodeState* find(const plan::NodeName& name) const;
  const NodeState* find(protocol::NodeUid uid) const;
  const LineView* find(const plan::LineName& name) const;
  // The same to be written, and marked so.
  NodeState* write(protocol::NodeUid uid);
  LineView* write(const plan::LineName& name);
  plan::Device plan_of(const NodeState& node) const;
  // Nothing is sent to it else, and nothing wanted of it.
  bool has(const NodeState& node) const { return control == Control::ours && !node.is_held(); }
  // Another controller has it, as far as that is known.
  bool is_others(const NodeState& node) const { return !has(node) && control != Control::asking; }
};

// What the antenna does now: seen, or wanted before it was read; without supply it is passive.
std::optional<plan::NodeSettings> in_force(const NodeState& node);
// Every state in which it may be right now, the likeliest last.
std::vector<plan::NodeSettings> possible_settings(const NodeState& node);
// The same of an amplifier.
PossibleSettings possible_of_amplifier(const NodeState& node);

// One event being worked on: the state, the time, and the effects so far. The rest of the room is
// written as functions on this.
struct Turn {
  State& state;
  TimePoint now;
  std::vector<Effect>& effects;

  void respond(RequestId request, Answer answer) {
    effects.emplace_back(Respond{request, std::move(answer)});
  }
  CommandId send(const NodeState& node, protocol::Ask request, AfterCommand after);
  CommandId send_on(const plan::LineName& line, protocol::NodeUid uid, protocol::Ask request,
                    AfterCommand after);
  CommandId send_to_all(const plan::LineName& line, protocol::Ask request, AfterCommand after);
  // What is owed from records that failed travels along, before the rest.
  RecordId record(std::vector<JournalEntry> entries, std::vector<Write> writes = {},
                  AfterRecord after = ThenNothing{});
  JournalEntry entry(JournalKind kind, std::string who, const NodeState* node = nullptr) const;
  // What this segment has on the air.
  JournalEntry on_the_air(const plan::SegmentName& segment, std::string who) const;
  Surroundings surroundings() const;
  // The verdict on these settings of a node, in these surroundings and with every other route that
  // may be in force: of a matrix that is being changed, or of which nobody knows the end.
  Verdict verdict_on(const Surroundings& around, const NodeState& node,
                     const plan::NodeSettings& settings) const;
  // Tries again to keep what is owed, once a second.
  void pay_debts();
  // Writes what is known of the node's settings: know(node, &NodeState::wanted, Wanted{…}).
  template <class T>
  void know(NodeState& node, Grounds<T> NodeState::*what, std::optional<T> value) {
    const auto known = known_of(node);
    (node.*what).value_ = std::move(value);
    if (known_of(node) != known) settings_changed(node);
  }
  // Where its change stands. Precondition: there is one.
  Change& change_of(NodeState& node) { return *node.change.value_; }
  // The rules themselves, or the segment, are others: all verdicts have to be renewed.
  void conditions_changed();
  // Who hears through whom follows what is known of the matrices.
  void route();

 private:
  // What verdicts follow from.
  struct Known {
    std::vector<plan::NodeSettings> possible;
    bool seen = false;
    bool supplied = false;
    friend bool operator==(const Known&, const Known&) = default;
  };
  static Known known_of(const NodeState& node);
  // What may be in force on this node is another: its standing verdict, and those of nodes that
  // share a receiver with it, have to be renewed.
  void settings_changed(const NodeState& node);
};

// Renews the standing verdicts that have to be, raises and returns the alarms that follow. At most
// so many at once, since each takes some hundred microseconds. While a switch is under way they
// wait.
constexpr std::size_t standing_at_once = 16;
void refresh_standing(Turn& turn, std::size_t most = standing_at_once);
std::shared_ptr<NodeView> view_of(const State& state, const NodeState& node);

}  // namespace catwalk::rack
