// SPDX-License-Identifier: Apache-2.0
#pragma once
// The life of a change. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

struct NewChange {
  plan::Settings after;
  Verdict verdict;
  std::optional<Waiver> waiver;
  std::optional<RequestId> request;
  std::string who;
  std::string why;
  bool restores = false;  // what is wanted already: the lock does not hold it
};
void begin_change(Turn& turn, NodeState& node, NewChange change);
void stage_change(Turn& turn, NodeState& node);
void step_answered(Turn& turn, NodeState& node, const protocol::Reply& reply);
void step_failed(Turn& turn, NodeState& node, protocol::Fault fault);
void intent_not_recorded(Turn& turn, NodeState& node, const std::string& reason);
// After a restart: the first reading says what became of a change that was under way.
void resolve_interrupted(Turn& turn, NodeState& node);
// Another controller has the node, or has had it since: whatever became of the change is its
// business. Precondition: there is one, interrupted or under way.
void give_up_change(Turn& turn, NodeState& node);
protocol::Ticket ticket_for(ChangeId id);

}  // namespace catwalk::rack
