// SPDX-License-Identifier: Apache-2.0
#pragma once
// Everything that can happen to the core.

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <variant>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/plan/settings.hpp"
#include "daemon/rack/values/alarm.hpp"
#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/waiver.hpp"
#include "daemon/rack/way/way.hpp"
#include "protocol/fault.hpp"
#include "protocol/whole.hpp"

namespace catwalk::rack {

// ---- what people ask ---------------------------------------------------------------------------

struct ChangeRequested {
  RequestId request = 0;
  plan::NodeName node = {};
  plan::SettingsPatch patch = {};
  std::optional<std::uint64_t> if_revision = {};  // refuse if wanted has moved on from this
  bool dry_run = false;                           // only the verdict
  std::optional<Waiver> waiver = {};
  std::string who = {};
  std::string why = {};
};
// The same of a matrix.
struct RoutesRequested {
  RequestId request = 0;
  plan::NodeName node = {};
  plan::MatrixPatch patch = {};
  std::optional<std::uint64_t> if_revision = {};
  bool dry_run = false;
  std::optional<Waiver> waiver = {};
  std::string who = {};
  std::string why = {};
};
// An input of a matrix is without its supply for as long as the datasheet of the amplifier behind
// it asks, and has it again. What is wanted stays as it is. Checked as the supply's end would be.
struct PowerCycleRequested {
  RequestId request = 0;
  plan::NodeName node = {};
  std::size_t input = 0;
  std::optional<std::uint64_t> if_revision = {};
  bool dry_run = false;
  std::optional<Waiver> waiver = {};
  std::string who = {};
  std::string why = {};
};
// Wanted follows what the node shows.
struct AdoptRequested {
  RequestId request = 0;
  plan::NodeName node = {};
  std::optional<std::uint64_t> if_revision = {};
  std::optional<Waiver> waiver = {};
  std::string who = {};
  std::string why = {};
};
// The node is sent what is wanted once more, checked as if it were new.
struct ReapplyRequested {
  RequestId request = 0;
  plan::NodeName node = {};
  std::optional<std::uint64_t> if_revision = {};
  std::optional<Waiver> waiver = {};
  std::string who = {};
  std::string why = {};
};
// Another segment's lanes and carriers hold from now on. Moves no node.
struct SegmentRequested {
  RequestId request = 0;
  plan::SegmentName segment = {};
  std::string who = {};
  std::string why = {};
};
// Every node is moved to its settings in a segment, along a way on which nothing is worse than at
// either end; all of them, or none. Answered `accepted`, then with its end.
//
// `without`: nodes that stay as they are, whether they answer or not; what is wanted of them
// follows all the same. Each is a caution, so that somebody has to answer for it by name.
struct SwitchRequested {
  RequestId request = 0;
  std::optional<plan::SegmentName> segment = {};  // absent: that of the next cue
  std::vector<plan::NodeName> without = {};
  std::optional<Waiver> waiver = {};
  std::string who = {};
  std::string why = {};
};
// Nodes that answer and show other settings than wanted are brought back, along a way like that of
// a switch, under the show lock too; each that can be. Answered as a switch is.
struct RestoreRequested {
  RequestId request = 0;
  std::vector<plan::NodeName> nodes = {};  // empty: all of them
  std::optional<Waiver> waiver = {};
  std::string who = {};
  std::string why = {};
};
// A show-control message; triggers the next cue if that waits for it.
struct MessageReceived {
  RequestId request = 0;
  std::string text = {};
  std::string who = {};
};
// The switch under way is rolled back; one that is being rolled back stops where it is. What waits
// for its turn is dropped.
struct AbortRequested {
  RequestId request = 0;
  std::string who = {};
  std::string why = {};
};
// A cue may be triggered although the rack is locked, until the arming ends by itself.
struct ArmRequested {
  RequestId request = 0;
  std::optional<plan::CueName> cue = {};  // absent: the next one
  std::vector<plan::NodeName> without = {};
  std::optional<Waiver> waiver = {};  // for the switch that it triggers, as is `without`
  std::string who = {};
  std::string why = {};
};
// The files may be read again, once, although the rack is locked, until the arming ends by itself.
struct ArmReloadRequested {
  RequestId request = 0;
  std::string who = {};
  std::string why = {};
};
// Of whatever is armed.
struct DisarmRequested {
  RequestId request = 0;
  std::string who = {};
};
struct LockRequested {
  RequestId request = 0;
  bool locked = true;
  std::string who = {};
  std::string why = {};
};
struct LocateRequested {
  RequestId request = 0;
  plan::NodeName node = {};
  std::uint8_t seconds = 10;
  std::string who = {};
};
// Of a node that the last search of the line found, whether it stands in a file or not.
struct LocateFoundRequested {
  RequestId request = 0;
  plan::LineName line = {};
  protocol::NodeUid node = {};
  std::uint8_t seconds = 10;
  std::string who = {};
};
// The node keeps the settings in force across a loss of power.
struct StoreRequested {
  RequestId request = 0;
  plan::NodeName node = {};
  std::string who = {};
};
struct DiscoverRequested {
  RequestId request = 0;
  plan::LineName line = {};
  std::string who = {};
};
// A node that obeys an epoch which no controller can have obeys ours again. Proved by its key.
struct ReclaimRequested {
  RequestId request = 0;
  plan::NodeName node = {};
  std::string who = {};
  std::string why = {};
};
// We become the controller that nodes obey, whoever was before. `renews`: we speak under another
// epoch of ours, since a line is opened anew; what another controller has it keeps.
struct TakeOverRequested {
  RequestId request = 0;
  std::string who = {};
  std::string why = {};
  bool renews = false;
};
// Several at once; those that are gone by now need nobody. Empty: all.
struct AcknowledgeManyRequested {
  RequestId request = 0;
  std::vector<AlarmId> alarms = {};
  std::string who = {};
};
// With all that follow from it.
struct AcknowledgeRequested {
  RequestId request = 0;
  AlarmId alarm = 0;
  std::string who = {};
};
// The alarm draws no attention for this long: shortest_shelving to longest_shelving, from now. One
// that is shelved already is shelved anew.
struct ShelveRequested {
  RequestId request = 0;
  AlarmId alarm = 0;
  std::chrono::seconds lasting = shortest_shelving;
  std::string who = {};
  std::string why = {};
};
struct UnshelveRequested {
  RequestId request = 0;
  AlarmId alarm = 0;
  std::string who = {};
};
// Rows of the crew sheet of the way from `left` to `entered`, by their keys: done, or not done
// after all. All of them, or none. Moves nothing, and passes the show lock.
struct TickRequested {
  RequestId request = 0;
  plan::SegmentName left = {};
  plan::SegmentName entered = {};
  std::vector<std::string> rows = {};
  bool done = true;
  std::string who = {};
};

// ---- what the field says -----------------------------------------------------------------------

struct NodeReported {
  protocol::NodeUid node;
  protocol::AnyReading reading;
};
struct NodeIdentified {
  protocol::NodeUid node;
  protocol::Identity identity;
};
// Another controller speaks to this node, or on the whole line where `node` is everyone(). Nothing
// is said there until we take over. Said again every few seconds, as it is heard.
struct OtherSpeaks {
  plan::LineName line;
  protocol::NodeUid node;
  protocol::Epoch epoch;                           // 0: not told
  std::optional<std::chrono::milliseconds> ago{};  // since it was heard; absent: not told
  protocol::Epoch under = {};  // that the line spoke under then; before a take-over: it is old
};
// It was asked, and nobody else speaks to it.
struct NodeFree {
  protocol::NodeUid node;
};
// Of a line that asks first: everybody there has been asked whom they obey.
struct LineAsked {
  plan::LineName line;
};
// It reports without end, and is heeded once in a while only; or it is calm again.
struct NodeBabbles {
  protocol::NodeUid node;
  bool babbles = true;
};
struct NodeFellSilent {
  protocol::NodeUid node;
};
struct CommandAnswered {
  CommandId command = 0;
  protocol::Answer reply;
};
struct CommandFailed {
  CommandId command = 0;
  protocol::Fault fault = protocol::Fault::timed_out;
};
struct LineWentUp {
  plan::LineName line;
};
struct LineWentDown {
  plan::LineName line;
  std::string reason;
};
// The last word on this uid.
struct NodeDiscovered {
  plan::LineName line;
  protocol::NodeUid node;
  protocol::Address address;
  std::optional<protocol::Identity> identity = {};  // what it said of itself, if it did
  std::string endpoint = {};                        // "192.0.2.7:7010"; empty on a serial line
  std::string doubt = {};                           // a sentence, with what to do; empty: none
};
struct DiscoveryEnded {
  plan::LineName line;
  std::string trouble;
};

// ---- what the store and the shell say ----------------------------------------------------------

struct Recorded {
  RecordId record = 0;
};
struct RecordFailed {
  RecordId record = 0;
  std::string reason;
};
// What the store found when it looked at what was there at the start.
struct JournalFound {
  std::string trouble;  // a sentence; empty: the journal is whole
};
// Same lines and nodes, other segments, limits or datasheets. Moves no node. Not while a switch is
// under way.
struct PlanReplaced {
  std::shared_ptr<const plan::RackPlan> plan;
  std::string who;
};

// Somebody was turned away at a door, once or in a burst. Only told of.
struct TurnedAway {
  std::string who;   // the name of a token or of a user; empty: nobody knows
  std::string from;  // an address, or "user ana"
  std::string why;
  std::uint64_t times = 1;
  TimePoint since;
  friend bool operator==(const TurnedAway&, const TurnedAway&) = default;
};
// The certificate that the rack shows was looked at.
struct CertificateJudged {
  std::string trouble;  // a sentence; empty: it is good for a while
};

// The answer to PlanWay, which always comes. No way: it could not be worked out, for want of memory
// or by a fault of this program.
struct WayPlanned {
  WayId id = 0;
  std::optional<Way> way;
};
// Time has passed: Core::deadline() has come.
struct TimePassed {};
// The wall clock was put forward by this much, or back if it is negative. `now` is already the new
// time.
struct ClockStepped {
  std::chrono::microseconds by{0};
};

using Event =
    std::variant<ChangeRequested, RoutesRequested, PowerCycleRequested, AdoptRequested,
                 ReapplyRequested, RestoreRequested, SegmentRequested, SwitchRequested,
                 MessageReceived, AbortRequested, ArmRequested, ArmReloadRequested, DisarmRequested,
                 LockRequested, LocateRequested, LocateFoundRequested, StoreRequested,
                 DiscoverRequested, ReclaimRequested, TakeOverRequested, AcknowledgeRequested,
                 AcknowledgeManyRequested, ShelveRequested, UnshelveRequested, TickRequested,
                 NodeReported, NodeIdentified, OtherSpeaks, NodeFree, LineAsked, NodeBabbles,
                 NodeFellSilent, CommandAnswered, CommandFailed, LineWentUp, LineWentDown,
                 NodeDiscovered, DiscoveryEnded, Recorded, RecordFailed, JournalFound, PlanReplaced,
                 TurnedAway, CertificateJudged, WayPlanned, TimePassed, ClockStepped>;

}  // namespace catwalk::rack
