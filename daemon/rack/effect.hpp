// SPDX-License-Identifier: Apache-2.0
#pragma once
// Everything the core can ask of the shell. Plain data: a test asks which effect came.

#include <string>
#include <variant>
#include <vector>

#include "daemon/plan/names.hpp"
#include "daemon/rack/event.hpp"
#include "daemon/rack/record.hpp"
#include "daemon/rack/snapshot.hpp"
#include "daemon/rack/verdict.hpp"

namespace catwalk::rack {

enum class Outcome {
  done,          // of requests that are not changes
  checked,       // a dry run: the verdict says how it would go
  accepted,      // the intent is durable; the fate follows in a second answer
  settled,       // the node read back what was wanted
  refused,       // the verdict refuses
  needs_waiver,  // the verdict has cautions and nobody signed for them
  failed,        // the node refused, or reads back something else
  unreachable,   // the node did not answer, or its line is down
  stale,         // if_revision is not the present revision
  busy,          // another change of this node is under way
  unknown_name,  // no such node, line, segment or alarm
  not_recorded,  // the store cannot write: nothing was changed, or the detail says what was
  rolled_back,   // a switch: every node is as it was before
  stuck,         // a switch: some nodes are here and some there, the answer says which
};
std::string_view name_of(Outcome outcome);

struct Answer {
  Outcome outcome = Outcome::done;
  std::string detail;  // a sentence: why, if it did not go as asked
  Verdict verdict;
  ChangeId change = 0;              // 0: none was made
  NodeViewPtr node;                 // as it is now; null if the request named none
  SwitchViewPtr switching = {};     // of requests about a switch
  std::optional<Alarm> alarm = {};  // of requests about an alarm: as it is now
};

struct Respond {
  RequestId request = 0;
  Answer answer;
};
struct Send {
  plan::LineName line;
  CommandId command = 0;
  protocol::NodeUid node;
  protocol::Request request;
  friend bool operator==(const Send&, const Send&) = default;
};
struct Search {
  plan::LineName line;
  friend bool operator==(const Search&, const Search&) = default;
};
// Comes back as Recorded or RecordFailed. Records are kept in the order they were asked for.
struct Record {
  RecordId id = 0;
  std::vector<JournalEntry> entries;
  std::vector<Write> writes;
  friend bool operator==(const Record&, const Record&) = default;
};
// Lines speak under this epoch from now on.
struct SpeakAs {
  protocol::Epoch epoch;
  friend bool operator==(const SpeakAs&, const SpeakAs&) = default;
};
struct Publish {
  SnapshotPtr snapshot;
};
// Takes up to some hundred milliseconds: to be computed elsewhere, by plan_way(question). Comes
// back as WayPlanned; one that is asked for later replaces those before.
struct PlanWay {
  WayId id = 0;
  WayQuestion question;
  friend bool operator==(const PlanWay&, const PlanWay&) = default;
};

using Effect = std::variant<Respond, Send, Search, Record, SpeakAs, Publish, PlanWay>;

}  // namespace catwalk::rack
