// SPDX-License-Identifier: Apache-2.0
#pragma once
// Everything that can happen to the core.

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <variant>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/plan/settings.hpp"
#include "daemon/rack/alarm.hpp"
#include "daemon/rack/record.hpp"
#include "protocol/message.hpp"

namespace catwalk::rack {

// Chosen by whoever asks; every request is answered exactly once under its own (effect.hpp).
using RequestId = std::uint64_t;

// A named person's reason to go on in spite of a caution. Both parts are needed.
struct Waiver {
  std::string who;
  std::string reason;
  friend bool operator==(const Waiver&, const Waiver&) = default;
};

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
// We become the controller that nodes obey, whoever was before.
struct TakeOverRequested {
  RequestId request = 0;
  std::string who = {};
  std::string why = {};
};
struct AcknowledgeRequested {
  RequestId request = 0;
  AlarmId alarm = 0;
  std::string who = {};
};

// ---- what the field says -----------------------------------------------------------------------

using CommandId = std::uint64_t;

struct NodeReported {
  protocol::NodeUid node;
  protocol::Reading reading;
};
struct NodeIdentified {
  protocol::NodeUid node;
  protocol::Identity identity;
};
// It refuses to be read, since it obeys a controller of this higher epoch.
struct NodeObeysOther {
  protocol::NodeUid node;
  protocol::Epoch epoch;
};
struct NodeFellSilent {
  protocol::NodeUid node;
};
struct CommandAnswered {
  CommandId command = 0;
  protocol::Reply reply;
};
struct CommandFailed {
  CommandId command = 0;
  std::string fault;  // "timed out", "line down"
};
struct LineWentUp {
  plan::LineName line;
};
struct LineWentDown {
  plan::LineName line;
  std::string reason;
};
struct NodeDiscovered {
  plan::LineName line;
  protocol::NodeUid node;
  protocol::Address address;
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
// Same lines and nodes, other segments, limits or datasheets. Moves no node.
struct PlanReplaced {
  std::shared_ptr<const plan::RackPlan> plan;
  std::string who;
};

using Event =
    std::variant<ChangeRequested, AdoptRequested, ReapplyRequested, SegmentRequested, LockRequested,
                 LocateRequested, StoreRequested, DiscoverRequested, TakeOverRequested,
                 AcknowledgeRequested, NodeReported, NodeIdentified, NodeObeysOther, NodeFellSilent,
                 CommandAnswered, CommandFailed, LineWentUp, LineWentDown, NodeDiscovered,
                 DiscoveryEnded, Recorded, RecordFailed, PlanReplaced>;

}  // namespace catwalk::rack
