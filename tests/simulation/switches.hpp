// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a switch promises, held against what the nodes truly have and against a
// second planner that tries everything (tests/support/way_oracle.hpp).

#include <map>
#include <optional>
#include <set>
#include <string>

#include "daemon/rack/core/effect.hpp"
#include "daemon/rack/values/snapshot.hpp"
#include "tests/simulation/orders.hpp"
#include "tests/simulation/store_model.hpp"
#include "tests/simulation/truth.hpp"
#include "tests/simulation/violation.hpp"

namespace catwalk::simulation {

class Switches {
 public:
  // "No moment on the way is worse than either end", each node in flight being
  // in its old or its new settings: of every way that says of itself that it is
  // clean.
  static Complaint planned(const rack::WayQuestion& question, const rack::Way& way);

  // "Every switch ends": not step after step without an end.
  // "Nothing is sent before its intent is durable", "a step begins when the one
  // before was read back": of a stage or an apply that belongs to the switch
  // under way.
  Complaint staged(const rack::Snapshot& snapshot, const rack::NodeView& node,
                   const StagedSettings& stage, const Truth& truth, const Kept& kept, Moment now);
  Complaint applied(const rack::Snapshot& snapshot, const protocol::Apply& apply, const Kept& kept);
  // No stage of its step was looked at yet.
  bool is_new_step(const StagedSettings& stage) const { return step_ != stage.ticket; }
  // A hand, a supply or a restart was at the node: what it has is no matter of
  // the switch.
  void meddled(protocol::NodeUid node, Moment now) { meddled_[node] = now; }

  // "A switch ends done, rolled back, or stuck with a list that is true."
  Complaint ended(const rack::Snapshot& snapshot, const Truth& truth, Moment now);
  void daemon_gone();

 private:
  // Not long ago: it may not have been read since.
  bool is_meddled(protocol::NodeUid node, Moment now) const;
  struct Told {
    protocol::Ticket ticket;
    plan::NodeSettings to;
  };
  rack::ChangeId under_way_ = 0;                 // the switch that is looked at
  protocol::Ticket step_;                        // its step
  std::map<protocol::NodeUid, Told> in_step_;    // who was staged in it
  int steps_ = 0;                                // that it took so far
  std::set<protocol::NodeUid> told_;             // who was staged at all, in this run
  std::map<protocol::NodeUid, Moment> meddled_;  // when last
  rack::ChangeId ended_ = 0;                     // the last whose end was looked at
};

}  // namespace catwalk::simulation
