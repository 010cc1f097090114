// SPDX-License-Identifier: Apache-2.0
#pragma once
// The life of a change. Internal to the room, like state.hpp.

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

struct NewChange {
  plan::NodeSettings after;
  Verdict verdict;
  std::optional<Waiver> waiver;
  std::optional<RequestId> request;
  std::string who;
  std::string why;
  bool restores = false;  // what is wanted already: the lock does not hold it
  std::optional<Detour> detour = {};
};
void begin_change(Turn& turn, NodeState& node, NewChange change);
// A change that the daemon was stopped in waits for its node to be read. Of several of one node
// only the last can still be decided: a later one was only begun because those before had ended.
void take_up(Turn& turn, const Unfinished& unfinished);
// After a restart: the first reading says what became of a change that was under way.
void resolve_interrupted(Turn& turn, NodeState& node);
// Another controller has the node, or has had it since: whatever became of the change is its
// business. Precondition: there is one, interrupted or under way.
void give_up_change(Turn& turn, NodeState& node);
// Of changes that rest on their way: go on with those whose time has come.
void end_rests(Turn& turn);
std::optional<TimePoint> next_end_of_rest(const State& state);
void rests_move_with_clock(Turn& turn, std::chrono::microseconds by);
protocol::Ticket ticket_for(ChangeId id);

}  // namespace catwalk::rack
