// SPDX-License-Identifier: Apache-2.0
#pragma once
// The life of a switch. Internal to the room, like state.hpp.
//
//   asked for ─ planning ─ recording ─┬─ staging ─ applying ─ reading back ─┬─ next step …
//                  │                  │      (of one step)                  └─ done
//                  └─ refused         └─ a node fails, somebody aborts:
//                                        planning ─ steps of the way back ─┬─ rolled back
//                                                                          └─ stuck
//
// Before each step the rack is compared with what the way takes it to be; where it differs (a knob,
// a supply, a node gone silent), the rest of the way is planned anew.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/core/event.hpp"
#include "daemon/rack/core/shown.hpp"
#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/kept.hpp"
#include "daemon/rack/values/switch_view.hpp"
#include "daemon/rack/values/waiver.hpp"
#include "daemon/rack/way/members.hpp"
#include "daemon/rack/way/way.hpp"

namespace catwalk::rack {

struct NodeState;
struct State;
struct Turn;

// Attempts at a node in one step, the first counted. Each of its commands is already repeated by
// the line.
inline constexpr int tries_in_a_step = 3;
// Switches that wait for their turn.
inline constexpr std::size_t most_wishes = 4;

// A switch that was triggered, and is not begun.
struct Wish {
  plan::SegmentName segment;
  std::optional<plan::CueName> cue = {};  // that it leads to
  TriggeredBy triggered_by = TriggeredBy::hand;
  std::optional<RequestId> request = {};  // absent: nobody waits
  std::optional<Waiver> waiver = {};
  std::string who = {};
  std::string why = {};
  std::vector<plan::NodeName> without = {};  // see SwitchRequested
  // Brings nodes back to what is wanted of them, and goes nowhere: the lock does not hold it.
  bool restores = false;
  std::vector<plan::NodeName> only = {};  // of a restoring one: these alone; empty: all
  bool armed = false;  // it has begun, and used up the arming of its cue: the lock does not hold it

  bool is_signed() const { return waiver && waiver->is_signed(); }
};

// One of the nodes that the switch moves.
struct SwitchNode {
  protocol::NodeUid uid;
  plan::NodeSettings before;
  plan::NodeSettings target;
  Progress progress = Progress::waiting;
  plan::NodeSettings to;      // after the step under way
  int tries = 0;              // in this step
  bool alone = false;         // is told to apply by itself: a broadcast has passed it by
  bool in_doubt = false;      // may hold what was staged in this step, and did not say so
  bool given_up = false;      // the switch goes on without it
  bool left_out = false;      // and was asked to; it is given up from the start
  std::string reason;         // stands beside its name, which is not in it
  SwitchedNodePtr view = {};  // as last published
};

struct Switch {
  SwitchView view;  // without nodes
  Wish wish;
  Rows<SwitchNode> nodes;  // in the order of the plan
  plan::IfNodeFails if_a_node_fails = plan::IfNodeFails::roll_back;

  std::optional<WayId> awaited;  // the way that is being planned …
  WayQuestion question;          // … or the way that is walked was the answer to
  int planned = 0;               // ways asked for since the last step
  Way way;
  std::size_t at = 0;         // the step under way
  ChangeId ticket = 0;        // its ticket
  bool durable = false;       // the intent
  bool step_durable = false;  // that the step under way is about to be put in force
  bool moved = false;         // something may have been put in force
  bool aborted = false;       // to be turned back, or on the way back to be stopped, after the step

  plan::NodeSettings goal_of(const SwitchNode& node) const {
    return view.back ? node.before : node.target;
  }
  // To be written. Null: it is none of these.
  SwitchNode* write(protocol::NodeUid uid);
};

}  // namespace catwalk::rack
