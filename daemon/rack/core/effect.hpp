// SPDX-License-Identifier: Apache-2.0
#pragma once
// Everything the core can ask of the shell. Plain data: a test asks which effect came.

#include <string>
#include <variant>
#include <vector>

#include "daemon/plan/names.hpp"
#include "daemon/rack/values/answer.hpp"
#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/record.hpp"
#include "daemon/rack/values/snapshot.hpp"
#include "daemon/rack/way/way.hpp"
#include "protocol/whole.hpp"

namespace catwalk::rack {

struct Respond {
  RequestId request = 0;
  Answer answer;
};
struct Send {
  plan::LineName line;
  CommandId command = 0;
  protocol::NodeUid node;
  protocol::Ask request;
  friend bool operator==(const Send&, const Send&) = default;
};
struct Search {
  plan::LineName line;
  friend bool operator==(const Search&, const Search&) = default;
};
// Lines speak under this epoch from now on, those that have asked first too; `takes_over`: where
// another controller speaks as well.
struct SpeakAs {
  protocol::Epoch epoch;
  bool takes_over = false;
  friend bool operator==(const SpeakAs&, const SpeakAs&) = default;
};
// Another controller has the rack: lines say nothing as one until SpeakAs.
struct FallQuiet {
  friend bool operator==(const FallQuiet&, const FallQuiet&) = default;
};
struct Publish {
  SnapshotPtr snapshot;
};
// Takes up to some hundred milliseconds: to be computed elsewhere, by plan_way(question). Comes
// back as WayPlanned. No more than three wait at a time: one for the armed cue, one for the switch,
// one for a switch that has gone back since.
struct PlanWay {
  WayId id = 0;
  WayQuestion question;
  friend bool operator==(const PlanWay&, const PlanWay&) = default;
};

using Effect = std::variant<Respond, Send, Search, Record, SpeakAs, FallQuiet, Publish, PlanWay>;

}  // namespace catwalk::rack
