// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is left to do once a record is durable or lost, or a command has been answered. Each has its
// ends beside each other, in the source whose matter it is. Internal to the room, like state.hpp.

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/plan/names.hpp"
#include "daemon/rack/values/answer.hpp"
#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/kept.hpp"
#include "protocol/fault.hpp"
#include "protocol/whole.hpp"

namespace catwalk::rack {

struct Turn;

struct ThenStage {
  protocol::NodeUid node;
};
struct ThenAdopt {
  RequestId request = 0;
  protocol::NodeUid node;
  plan::NodeSettings settings;
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
// Taken over: what it shows is wanted; nothing: it does not answer, and is met anew.
struct TakenNode {
  protocol::NodeUid node;
  std::optional<Wanted> wanted;
};
struct ThenSpeakAs {
  RequestId request = 0;
  protocol::Epoch epoch;
  bool takes_over = true;    // false: another epoch of ours
  std::optional<Lock> lock;  // to be put
  std::vector<TakenNode> nodes;
};
// Nobody else speaks: the nodes are ours.
struct ThenControl {};
struct ThenLocate {
  RequestId request = 0;
  protocol::NodeUid node;
  std::uint8_t seconds = 0;
};
struct ThenLocateFound {
  RequestId request = 0;
  plan::LineName line;
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
struct ThenSwitch {
  ChangeId change = 0;  // the switch
};
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
using AfterRecord = std::variant<ThenNothing, ThenStage, ThenAdopt, ThenLock, ThenSegment,
                                 ThenSpeakAs, ThenControl, ThenLocate, ThenLocateFound, ThenStore,
                                 ThenReclaim, ThenSwitch, ThenStep, ThenEndSwitch>;

// It is durable.
void kept(Turn& turn, const ThenStage& then);
void kept(Turn& turn, const ThenAdopt& then);
void kept(Turn& turn, const ThenLock& then);
void kept(Turn& turn, const ThenSegment& then);
void kept(Turn& turn, const ThenSpeakAs& then);
void kept(Turn& turn, const ThenControl& then);
void kept(Turn& turn, const ThenLocate& then);
void kept(Turn& turn, const ThenLocateFound& then);
void kept(Turn& turn, const ThenStore& then);
void kept(Turn& turn, const ThenReclaim& then);
void kept(Turn& turn, const ThenSwitch& then);
void kept(Turn& turn, const ThenStep& then);
void kept(Turn& turn, const ThenEndSwitch& then);
void kept(Turn& turn, const ThenNothing& then);
// It is not, and never will be: nothing of it is on the disk.
void lost(Turn& turn, const ThenStage& then, const std::string& reason);
void lost(Turn& turn, const ThenAdopt& then, const std::string& reason);
void lost(Turn& turn, const ThenLock& then, const std::string& reason);
void lost(Turn& turn, const ThenSegment& then, const std::string& reason);
void lost(Turn& turn, const ThenSpeakAs& then, const std::string& reason);
void lost(Turn& turn, const ThenControl& then, const std::string& reason);
void lost(Turn& turn, const ThenLocate& then, const std::string& reason);
void lost(Turn& turn, const ThenLocateFound& then, const std::string& reason);
void lost(Turn& turn, const ThenStore& then, const std::string& reason);
void lost(Turn& turn, const ThenReclaim& then, const std::string& reason);
void lost(Turn& turn, const ThenSwitch& then, const std::string& reason);
void lost(Turn& turn, const ThenStep& then, const std::string& reason);
void lost(Turn& turn, const ThenEndSwitch& then, const std::string& reason);
void lost(Turn& turn, const ThenNothing& then, const std::string& reason);

struct StepOfChange {
  protocol::NodeUid node;
  ChangeId change = 0;
};
struct ForRequest {
  RequestId request = 0;
  protocol::NodeUid node;
};
struct ForFound {
  RequestId request = 0;
  plan::LineName line;
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
using AfterCommand =
    std::variant<StepOfChange, ForRequest, ForFound, ForReclaim, StepOfSwitch, ForNobody>;

// `reply` null: there was none, because of `fault`.
void answered(Turn& turn, const StepOfChange& what, const protocol::Answer* reply,
              protocol::Fault fault);
void answered(Turn& turn, const ForRequest& what, const protocol::Answer* reply,
              protocol::Fault fault);
void answered(Turn& turn, const ForFound& what, const protocol::Answer* reply,
              protocol::Fault fault);
void answered(Turn& turn, const ForReclaim& what, const protocol::Answer* reply,
              protocol::Fault fault);
void answered(Turn& turn, const StepOfSwitch& what, const protocol::Answer* reply,
              protocol::Fault fault);
void answered(Turn& turn, const ForNobody& what, const protocol::Answer* reply,
              protocol::Fault fault);

}  // namespace catwalk::rack
