// SPDX-License-Identifier: Apache-2.0
#pragma once
// A switch as others see it, while it is under way and when it has ended; and where the rack stands
// in its running order.

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/plan/node_settings.hpp"
#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/outcome.hpp"
#include "daemon/rack/values/time.hpp"
#include "daemon/rack/values/verdict.hpp"
#include "daemon/rack/values/waiver.hpp"

namespace catwalk::rack {

enum class TriggeredBy { hand, clock, duration, message };
constexpr auto words_of(TriggeredBy) {
  using enum TriggeredBy;
  return WordTable<TriggeredBy, 4>{
      {{"hand", hand}, {"clock", clock}, {"duration", duration}, {"message", message}}};
}
using catwalk::name_of;

// Where a switch stands. The last three are its ends.
enum class SwitchStage {
  planning,      // the way is being computed, or computed anew since the rack is not as expected
  recording,     // the intent is on its way to the disk; nothing was sent
  staging,       // the nodes of the step are told their new settings, nothing is in force yet
  applying,      // they are told to put them in force
  reading_back,  // they are asked what they have
  interrupted,   // the daemon was stopped in it; its nodes are being read
  done,
  rolled_back,  // every node is as it was before
  stuck,        // some nodes are here and some there: `nodes` says which, and what to do
};
constexpr auto words_of(SwitchStage) {
  using enum SwitchStage;
  return WordTable<SwitchStage, 9>{{{"planning", planning},
                                    {"recording", recording},
                                    {"staging", staging},
                                    {"applying", applying},
                                    {"reading-back", reading_back},
                                    {"interrupted", interrupted},
                                    {"done", done},
                                    {"rolled-back", rolled_back},
                                    {"stuck", stuck}}};
}
constexpr bool is_end(SwitchStage stage) { return stage >= SwitchStage::done; }

// Where one of its nodes is.
enum class Whereabouts {
  before,     // as before the switch
  between,    // on the intermediate settings of a move in two
  target,     // as the segment that is entered has it
  elsewhere,  // somewhere that is none of these
  unknown,    // it does not answer
  not_ours,   // another controller has it
};
constexpr auto words_of(Whereabouts) {
  using enum Whereabouts;
  return WordTable<Whereabouts, 6>{{{"before", before},
                                    {"between", between},
                                    {"target", target},
                                    {"elsewhere", elsewhere},
                                    {"unknown", unknown},
                                    {"not-ours", not_ours}}};
}

// What it is doing in the step that is under way.
enum class Progress {
  waiting,  // for a later step, or for nothing any more
  staging,
  staged,
  applying,
  reading_back,
  failed,  // refused, answered wrongly or was silent, more often than its budget
};
constexpr auto words_of(Progress) {
  using enum Progress;
  return WordTable<Progress, 6>{{{"waiting", waiting},
                                 {"staging", staging},
                                 {"staged", staged},
                                 {"applying", applying},
                                 {"reading-back", reading_back},
                                 {"failed", failed}}};
}

struct SwitchedNode {
  plan::NodeName node;
  plan::NodeSettings before;
  plan::NodeSettings target;
  Whereabouts where = Whereabouts::before;
  Progress progress = Progress::waiting;
  std::string reason;      // of a failure; stands beside the name, which is not in it
  std::string what_to_do;  // where it is left in a place that nobody chose
  friend bool operator==(const SwitchedNode&, const SwitchedNode&) = default;
};

using SwitchedNodePtr = std::shared_ptr<const SwitchedNode>;

struct SwitchView {
  ChangeId id = 0;
  plan::SegmentName left;
  plan::SegmentName entered;
  TriggeredBy triggered_by = TriggeredBy::hand;
  std::string who;
  std::string why;
  SwitchStage stage = SwitchStage::planning;
  bool restores = false;  // brings back what has drifted; from a segment to itself
  bool back = false;      // on the way back
  std::size_t step = 0;   // that is under way, from 1; 0: none yet
  std::size_t steps = 0;  // of the way there, or of the way back
  std::string reason;     // why it turned back, or is stuck
  // In the order of the plan; those that need not move are not here. Shared with the view before.
  std::vector<SwitchedNodePtr> nodes;
  std::shared_ptr<const Verdict> verdict;  // on its end, and on the way; null until it is planned
  std::string not_ticked;  // of its crew sheet when it began, a sentence; empty: nothing
  TimePoint requested;
  std::optional<TimePoint> ended;
};
using SwitchViewPtr = std::shared_ptr<const SwitchView>;

// What a switch would come to if it were asked for now.
struct Prospect {
  Outcome would_be = Outcome::done;    // or refused, needs_waiver, unreachable, busy
  std::vector<std::string> obstacles;  // what is in the way, a sentence each; empty: nothing
  bool good() const { return would_be == Outcome::done; }
  friend bool operator==(const Prospect&, const Prospect&) = default;
};

// A cue that may be triggered although the rack is locked, and without anybody at the desk.
struct Armed {
  plan::CueName cue;
  std::string who;
  std::optional<Waiver> waiver;         // goes with the switch that it triggers …
  std::vector<plan::NodeName> without;  // … and so do these, that it leaves as they are
  TimePoint until;
  // As things are; while a switch is under way, as they were before. Absent: its way was not
  // planned yet.
  std::optional<Prospect> prospect = {};
  std::string not_ticked = {};  // of its crew sheet, a sentence; empty: nothing
  friend bool operator==(const Armed&, const Armed&) = default;
};

// The files may be read again although the rack is locked, once.
struct ArmedReload {
  std::string who;
  TimePoint until;
  friend bool operator==(const ArmedReload&, const ArmedReload&) = default;
};

struct OrderView {
  std::optional<plan::CueName> at;    // where the rack is; absent: not in the order
  std::optional<plan::CueName> next;  // absent: the order is over, or there is none
  std::optional<TimePoint> due;       // when the next one is triggered by itself
  // Why the next cue, whose time it is to come by itself, waits for a person; empty: it does not.
  std::string held_because = {};
  std::optional<Armed> armed;
  std::optional<ArmedReload> reload_armed;
  std::vector<plan::SegmentName> waiting;  // triggered, and waiting for their turn
  friend bool operator==(const OrderView&, const OrderView&) = default;
};

}  // namespace catwalk::rack
