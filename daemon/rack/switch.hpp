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

#include "daemon/rack/event.hpp"
#include "daemon/rack/record.hpp"
#include "daemon/rack/switch_view.hpp"
#include "daemon/rack/switching/members.hpp"
#include "daemon/rack/switching/way.hpp"

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
  plan::Settings before;
  plan::Settings target;
  Progress progress = Progress::waiting;
  plan::Settings to;      // after the step under way
  int tries = 0;          // in this step
  bool alone = false;     // is told to apply by itself: a broadcast has passed it by
  bool in_doubt = false;  // may hold what was staged in this step, and did not say so
  bool given_up = false;  // the switch goes on without it
  bool left_out = false;  // and was asked to; it is given up from the start
  std::string reason;
  SwitchedNodePtr view = {};  // as last published
};

struct Switch {
  SwitchView view;  // without nodes
  Wish wish;
  std::vector<SwitchNode> nodes;  // in the order of the plan
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

  plan::Settings goal_of(const SwitchNode& node) const {
    return view.back ? node.before : node.target;
  }
  SwitchNode* find(protocol::NodeUid uid);
};

// ---- switch_begin.cpp --------------------------------------------------------------------------
// Begins it, or lets it wait, or refuses it, as the running order says. Answered in any case; an
// alarm tells of one that nobody waits for and that was refused.
void ask_for_switch(Turn& turn, Wish wish);
// Begins the next that waits, if nothing is under way.
void begin_waiting(Turn& turn);
// What would be asked of the planner for this segment, for all nodes that it has settings for and
// that are not left out.
WayQuestion question_ahead(const State& state, const plan::SegmentName& segment,
                           const std::vector<plan::NodeName>& without);
// The first way is planned: refuses it, or records the intent to go it.
void judge_first_way(Turn& turn);
void intent_of_switch_recorded(Turn& turn);
void intent_of_switch_not_recorded(Turn& turn, const std::string& reason);
// Takes back a switch whose intent is not on its way to the disk, as if it had never been.
Wish drop_switch(Turn& turn);
void refuse_wish(Turn& turn, const Wish& wish, Outcome outcome, std::string detail,
                 Verdict verdict = {});

// ---- switch_way.cpp: planning, and looking whether the rack is as planned ----------------------
void plan_on(Turn& turn);
void way_planned(Turn& turn, const WayPlanned& event);
// What is known of each node of the rack.
NodeNow now_of(const NodeState& node);
std::vector<NodeNow> rack_now(const State& state);
// Is everything as the way takes it to be before its next step? Labels aside.
bool as_planned(const State& state, const Switch& one);
// No step is left: the end, or one more way if somebody has meddled.
void way_walked(Turn& turn);
// Rolls it back, as soon as what nodes were asked has been answered. On the way back: nothing.
void turn_back(Turn& turn, std::string reason);
// The same at once. Precondition: no node was asked anything that is not answered.
void go_back(Turn& turn);

// ---- switch_steps.cpp --------------------------------------------------------------------------
void begin_step(Turn& turn);
void step_recorded(Turn& turn, ChangeId ticket, const std::string* trouble);
// `node`: everyone() for a broadcast on `line`. `reply` null: it failed with `fault`.
void step_command_ended(Turn& turn, const plan::LineName& line, protocol::NodeUid node,
                        ChangeId ticket, const protocol::Reply* reply, protocol::Fault fault);

// ---- switch_end.cpp ----------------------------------------------------------------------------
void end_switch(Turn& turn, SwitchStage end, std::string reason);
// Looks at what was put off while a switch was under way: drifts, verdicts on what is in force.
void catch_up(Turn& turn);
// After a restart: goes on as the running order says once every node was read or is known to be
// silent.
void take_up_switch(Turn& turn, const UnfinishedSwitch& unfinished);
void resume_if_read(Turn& turn);
Whereabouts whereabouts(const State& state, const NodeState& node, const SwitchNode& one);
SwitchViewPtr view_of_switch(State& state);

// ---- running_order.cpp -------------------------------------------------------------------------
// The cue that a switch to this segment leads to: the armed one, the next one, any other.
std::optional<plan::CueName> cue_for(const State& state, const plan::SegmentName& segment);
// The rack has reached this segment. Null: nowhere in the order.
void reached(Turn& turn, const plan::SegmentName& segment, const std::optional<plan::CueName>& cue);
void place_in_order(State& state, const plan::CueName& cue);
void clock_stepped(Turn& turn, std::chrono::microseconds by);
// Finds out anew when the next cue is due.
void aim(Turn& turn);
void keep_time(Turn& turn);
OrderView order_of(const State& state);
// Nothing stays armed; `what`: why, as the journal has it.
void disarm_all(Turn& turn, const std::string& who, const std::string& what);
void on_request(Turn& turn, const SwitchRequested& event);
void on_request(Turn& turn, const RestoreRequested& event);
void on_request(Turn& turn, const MessageReceived& event);
void on_request(Turn& turn, const AbortRequested& event);
void on_request(Turn& turn, const ArmRequested& event);
void on_request(Turn& turn, const ArmReloadRequested& event);
void on_request(Turn& turn, const DisarmRequested& event);

}  // namespace catwalk::rack
