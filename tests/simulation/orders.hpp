// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the core tells nodes to do, and what nodes do that nobody told them.

#include <map>
#include <optional>
#include <vector>

#include "daemon/rack/core/effect.hpp"
#include "daemon/rack/values/snapshot.hpp"
#include "tests/simulation/store_model.hpp"
#include "tests/simulation/truth.hpp"
#include "tests/simulation/violation.hpp"

namespace catwalk::simulation {

// What stages settings, of either kind.
struct StagedSettings {
  protocol::Epoch epoch;
  protocol::Ticket ticket;
  plan::NodeSettings settings;
};
// Nothing: it stages none.
std::optional<StagedSettings> staged_in(const protocol::Ask& request);

class Orders {
 public:
  // "What is decided is signed for": no intent that a verdict refuses, none
  // with cautions and without a waiver, unless the rack restores what was
  // decided before.
  static Complaint signed_for(const rack::Record& record);

  // "Nothing is sent before its intent is durable, and nothing that the rules
  // refuse." `plan`: what the core was given last.
  Complaint sent(const rack::Send& send, const plan::RackPlan& plan, const rack::Snapshot& snapshot,
                 const Kept& kept, Moment now);
  // "Every command ends once."
  Complaint ended(rack::CommandId command);
  // "Every command ends": none is under way for longer than a line needs.
  Complaint none_is_forgotten(Moment now) const;
  bool none_under_way() const { return under_way_.empty(); }
  void daemon_gone() { under_way_.clear(); }

  // "A node changes only when it is told, by hand, or with its own supply."
  // Precondition: no hand and no supply was at it; what lives on a matrix may have started anew
  // since.
  Complaint node_changed(const TrueNode& node, const plan::NodeSettings& before) const;

  // When this node was last told new settings.
  Moment staged_at(protocol::NodeUid node) const;
  // What the node that this command under way went to was told last; null: nothing.
  const plan::NodeSettings* last_told(rack::CommandId command) const;

 private:
  struct Staged {
    protocol::Epoch epoch;
    protocol::Ticket ticket;
    plan::NodeSettings settings;
    Moment at;
    bool applied = false;
  };
  Complaint stage_sent(const rack::Send& send, const StagedSettings& stage,
                       const plan::RackPlan& plan, const rack::Snapshot& snapshot, const Kept& kept,
                       Moment now);

  struct UnderWay {
    Moment since;
    protocol::NodeUid node;
  };
  std::map<rack::CommandId, UnderWay> under_way_;
  std::map<protocol::NodeUid, std::vector<Staged>> staged_;  // in all runs of the daemon
};

}  // namespace catwalk::simulation
