// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the core knows, and one turn of it. Internal to the room: others see snapshots and effects.

#include <cstdint>
#include <deque>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <utility>
#include <variant>
#include <vector>

#include "daemon/rack/effect.hpp"
#include "daemon/rack/event.hpp"
#include "daemon/rack/rules.hpp"
#include "daemon/rack/snapshot.hpp"
#include "daemon/rack/switch.hpp"

namespace catwalk::rack {

struct Change {
  ChangeView view;
  std::optional<RequestId> request;  // absent: nobody waits (after a restart, or on_return)
  std::uint64_t checked_at = 0;      // State::conditions when it was checked
};

struct NodeState {
  plan::NodeName name;
  protocol::NodeUid uid;
  std::optional<Wanted> wanted;
  std::optional<Seen> seen;
  Link link = Link::unknown;
  std::optional<protocol::Identity> identity;
  std::optional<Change> change;
  std::optional<plan::Settings> maybe;  // of a change nobody knows the end of; until it is read
  bool adopting = false;                // an adoption waits to be recorded
  bool was_lost = false;                // silent or its line down since it was last read
  std::optional<protocol::Epoch> obeys_other;  // higher than ours, as it says
  Verdict standing;                            // on what is in force
  NodeViewPtr view;                            // as last published
  bool dirty = true;                           // the view is out of date
  bool standing_dirty = true;                  // the standing verdict too
};

// What to do when a record is durable.
struct ThenStage {
  protocol::NodeUid node;
};
struct ThenAdopt {
  RequestId request = 0;
  protocol::NodeUid node;
  plan::Settings settings;
  Verdict verdict;
};
struct ThenLock {
  RequestId request = 0;
  std::optional<Lock> lock;
};
struct ThenSegment {
  RequestId request = 0;
  plan::SegmentName segment;
};
struct ThenSpeakAs {
  RequestId request = 0;
  protocol::Epoch epoch;
};
struct ThenLocate {
  RequestId request = 0;
  protocol::NodeUid node;
  std::uint8_t seconds = 0;
};
struct ThenStore {
  RequestId request = 0;
  protocol::NodeUid node;
};
struct ThenReclaim {
  RequestId request = 0;
  protocol::NodeUid node;
  protocol::Epoch highest;
};
struct ThenSwitch {};
struct ThenStep {
  ChangeId ticket = 0;
};
// A switch is answered when its end is durable: a daemon that is stopped before takes the switch up
// again, and might end it otherwise.
struct ThenEndSwitch {
  RequestId request = 0;
  Answer answer;
};
struct ThenNothing {};
using AfterRecord =
    std::variant<ThenNothing, ThenStage, ThenAdopt, ThenLock, ThenSegment, ThenSpeakAs, ThenLocate,
                 ThenStore, ThenReclaim, ThenSwitch, ThenStep, ThenEndSwitch>;

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

// What an answer to a command means.
struct StepOfChange {
  protocol::NodeUid node;
  ChangeId change = 0;
};
struct ForRequest {
  RequestId request = 0;
  protocol::NodeUid node;
};
struct ForReclaim {
  RequestId request = 0;
  protocol::NodeUid node;
};
struct StepOfSwitch {
  plan::LineName line;
  protocol::NodeUid node;  // everyone(): a broadcast on the line
  ChangeId ticket = 0;
};
struct ForNobody {};
using AfterCommand = std::variant<StepOfChange, ForRequest, ForReclaim, StepOfSwitch, ForNobody>;

// The way of the armed cue, planned before it is triggered.
struct Ahead {
  WayQuestion question;
  std::optional<WayId> awaited;
  std::optional<Way> way;
};

struct State {
  std::shared_ptr<const plan::RackPlan> plan;
  plan::SegmentName segment;
  std::optional<Lock> lock;
  protocol::Epoch epoch;
  protocol::Epoch highest_heard;  // of any controller, by any node
  std::vector<NodeState> nodes;   // in the order of the plan
  std::unordered_map<protocol::NodeUid, std::size_t> by_uid;
  std::vector<LineView> lines;
  std::vector<Alarm> alarms;
  std::deque<ChangeView> changes;  // the latest, newest last

  std::optional<Switch> switching;
  std::deque<Wish> wishes;    // switches that wait for their turn
  SwitchViewPtr switch_view;  // as last published; stays when the switch has ended
  SwitchViewPtr last_ended;   // the view of the last that has ended
  std::optional<std::size_t> at_cue;
  std::map<std::string, TimePoint> reached;  // when a switch to each segment was last done
  std::optional<TimePoint> due;              // of the next cue
  bool due_moves_with_clock = false;  // it counts from a moment, and is put forward with the clock
  bool triggered = false;             // the next cue has had its time
  std::optional<Armed> armed;
  std::optional<Ahead> ahead;
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

  bool lines_dirty = true;
  bool alarms_dirty = true;
  bool changes_dirty = true;
  bool rack_dirty = true;  // lock, segment, epoch, plan, running order
  bool switch_dirty = false;
  bool standing_left = false;  // verdicts that have still to be renewed
  SnapshotPtr snapshot;

  NodeState* find(const plan::NodeName& name);
  NodeState* find(protocol::NodeUid uid);
  const NodeState* find(protocol::NodeUid uid) const;
  std::size_t index_of(const plan::NodeName& name) const;
  LineView* find(const plan::LineName& name);
  const plan::Node& plan_of(const NodeState& node) const;
  const plan::Segment& active() const;
};

// One event being worked on: the state, the time, and the effects so far. The rest of the room is
// written as functions on this.
struct Turn {
  State& state;
  TimePoint now;
  std::vector<Effect>& effects;

  void respond(RequestId request, Answer answer) {
    effects.emplace_back(Respond{request, std::move(answer)});
  }
  CommandId send(const NodeState& node, protocol::Request request, AfterCommand after);
  CommandId send_to_all(const plan::LineName& line, protocol::Request request, AfterCommand after);
  // What is owed from records that failed travels along, before the rest.
  RecordId record(std::vector<JournalEntry> entries, std::vector<Write> writes = {},
                  AfterRecord after = ThenNothing{});
  JournalEntry entry(JournalKind kind, std::string who, const NodeState* node = nullptr) const;
  Surroundings surroundings() const;
  // Tries again to keep what is owed, once a second.
  void pay_debts();
  // What is wanted of this node, or in force on it, is another: its standing verdict, and those of
  // nodes that share a receiver with it, have to be renewed.
  void settings_changed(const NodeState& node);
  // The rules themselves are others: all verdicts have to be renewed.
  void conditions_changed();
};

// What the antenna does now: seen, or wanted before it was read; without supply it is passive.
std::optional<plan::Settings> in_force(const NodeState& node);
// Renews the standing verdicts that have to be, raises and returns the alarms that follow. At most
// so many at once, since each takes some hundred microseconds; false: there are more. While a
// switch is under way they wait.
constexpr std::size_t standing_at_once = 16;
bool refresh_standing(Turn& turn, std::size_t most = standing_at_once);

NodeViewPtr view_of(const State& state, const NodeState& node);
PossibleSettings possible_settings(const NodeState& node);
std::string in_words(const Verdict& verdict);

// ---- alarms.cpp --------------------------------------------------------------------------------
void raise_alarm(Turn& turn, AlarmKind kind, const std::string& subject, std::string sentence);
// The condition is over; nothing happens if there is no such active alarm.
void return_alarm(Turn& turn, AlarmKind kind, const std::string& subject);
// Shelvings whose time is over end; those that are left go with the wall clock when it is put.
void end_shelvings(Turn& turn);
void shelvings_move_with_clock(Turn& turn, std::chrono::microseconds by);
std::optional<TimePoint> next_end_of_shelving(const State& state);

// ---- changes.cpp: the life of a change ---------------------------------------------------------
struct NewChange {
  plan::Settings after;
  Verdict verdict;
  std::optional<Waiver> waiver;
  std::optional<RequestId> request;
  std::string who;
  std::string why;
};
void begin_change(Turn& turn, NodeState& node, NewChange change);
void stage_change(Turn& turn, NodeState& node);
void step_answered(Turn& turn, NodeState& node, const protocol::Reply& reply);
void step_failed(Turn& turn, NodeState& node, const std::string& fault);
void intent_not_recorded(Turn& turn, NodeState& node, const std::string& reason);
// After a restart: the first reading says what became of a change that was under way.
void resolve_interrupted(Turn& turn, NodeState& node);
protocol::Ticket ticket_for(ChangeId id);

// ---- field.cpp ---------------------------------------------------------------------------------
void take_reading(Turn& turn, NodeState& node, const protocol::Reading& reading);
// What follows from the node's present reading: agreed, drifted, to be re-applied.
void judge(Turn& turn, NodeState& node, bool returned);
void on_field_event(Turn& turn, const NodeReported& event);
void on_field_event(Turn& turn, const NodeIdentified& event);
void on_field_event(Turn& turn, const NodeObeysOther& event);
void on_field_event(Turn& turn, const NodeBabbles& event);
void on_field_event(Turn& turn, const NodeFellSilent& event);
void on_field_event(Turn& turn, const LineWentUp& event);
void on_field_event(Turn& turn, const LineWentDown& event);
void on_field_event(Turn& turn, const NodeDiscovered& event);
void on_field_event(Turn& turn, const DiscoveryEnded& event);

// ---- requests.cpp ------------------------------------------------------------------------------
void on_request(Turn& turn, const ChangeRequested& event);
void on_request(Turn& turn, const AdoptRequested& event);
void on_request(Turn& turn, const ReapplyRequested& event);
void on_request(Turn& turn, const SegmentRequested& event);
void on_request(Turn& turn, const LockRequested& event);
void on_request(Turn& turn, const LocateRequested& event);
void on_request(Turn& turn, const StoreRequested& event);
void on_request(Turn& turn, const ReclaimRequested& event);
void on_request(Turn& turn, const DiscoverRequested& event);
void on_request(Turn& turn, const TakeOverRequested& event);
void on_request(Turn& turn, const AcknowledgeRequested& event);
void on_request(Turn& turn, const ShelveRequested& event);
void on_request(Turn& turn, const UnshelveRequested& event);

}  // namespace catwalk::rack
