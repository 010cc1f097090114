// SPDX-License-Identifier: Apache-2.0
#pragma once
// Whom a switch to a segment has to move, and what there is to ask the planner. The same for the
// core, which does it, and for a preview, which only looks.

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/plan/node_settings.hpp"
#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/rules/matrix_rules.hpp"
#include "daemon/rack/values/snapshot.hpp"
#include "daemon/rack/way/way.hpp"

namespace catwalk::rack {

// What is known of a node at this moment.
struct NodeNow {
  plan::NodeName name;
  std::optional<plan::NodeSettings> wanted;  // absent: never met
  std::optional<plan::NodeSettings> seen;    // as last read back
  std::optional<plan::NodeSettings>
      in_force;           // absent: it does not answer, or may have others by now
  bool supplied = false;  // else a plain passive antenna
  bool held = false;      // see NodeView; nothing can be moved there
};
// `uncertain`: see NodeView.
NodeNow now_of(const plan::NodeName& name, const std::optional<Wanted>& wanted,
               const std::optional<Seen>& seen, Link link, bool uncertain, bool held);
inline NodeNow now_of(const NodeView& node) {
  auto now = now_of(node.name, node.wanted, node.seen, node.link, node.uncertain, node.held);
  // While another has it, a take-over would want what it shows.
  if (!now.wanted && node.agreement == Agreement::not_ours) now.wanted = now.seen;
  return now;
}
// What the antenna does: without supply it is passive. A matrix keeps what it is set to. Nothing:
// it was never read.
std::optional<plan::NodeSettings> passive_without_supply(const std::optional<Seen>& seen);
// The same; wanted, before it was read.
std::optional<plan::NodeSettings> in_force(const std::optional<Seen>& seen,
                                           const std::optional<Wanted>& wanted);

// What a segment has for a node, on top of what is wanted of it. Nothing: it was never met, and the
// segment does not say everything.
std::optional<NodeProposal> planned_in(const plan::Segment& segment, const plan::Device& device,
                                       const std::optional<plan::NodeSettings>& wanted);

// Why a switch may not begin, where the core and a preview say the same.
inline constexpr std::string_view locked_without_arming =
    "The rack is locked for the show. Unlock it, or arm the cue that leads there.";

struct Member {
  std::size_t place = 0;      // in the rack
  plan::NodeSettings before;  // as last read; of one that was never read, as wanted
  plan::NodeSettings target;
  bool missing = false;      // it does not answer, or is left out
  bool left_out = false;     // somebody wants the switch to go without it
  std::string refused = {};  // why it is not restored; empty: it is
  bool unheard = false;      // of one that is left out: what it does is not known
  bool gets_supply = false;  // it has none, and a matrix that moves as well gives it some
};

struct Members {
  std::vector<Member> nodes;  // in the order of the plan; whoever is there already is not here
  std::vector<std::string> missing;  // names, those that were never met included
  std::vector<std::string> held;     // of these, those that another controller has
  std::vector<Finding> findings;     // of settings that their datasheets do not know
};
// Finds out who gets_supply.
void find_those_fed(const plan::RackPlan& plan, std::vector<Member>& members);
// Precondition of both: somebody is missing.
// "left and right do not answer"
std::string do_not_answer(const Members& members);
// Of going without them: what another has was refused, what is silent cannot be reached.
Outcome outcome_of_missing(const Members& members);
// That, in a segment that goes on without nobody.
std::string all_or_nothing(const Members& members);

// `nodes`: of the rack, in the order of the plan. `without`: left out, whatever their state.
Members members_of(const plan::RackPlan& plan, const plan::Segment& segment,
                   const std::vector<NodeNow>& nodes,
                   const std::vector<plan::NodeName>& without = {});
// Those that answer and show other settings than wanted of them. `only`: of these alone; empty: of
// all.
Members members_to_restore(const std::vector<NodeNow>& nodes,
                           const std::vector<plan::NodeName>& only);
// What there is to say where these are none: done, or unreachable where nobody knows of all that
// `only` names, or of the whole rack, where they are.
struct NothingToRestore {
  Outcome outcome = Outcome::done;
  std::string sentence;
};
NothingToRestore nothing_to_restore(const std::vector<NodeNow>& nodes,
                                    const std::vector<plan::NodeName>& only);
// Of a restoring switch the others are not its affair: what was wrong with them before is wrong
// still.
void keep_findings_on(const std::vector<NodeNow>& nodes, const Members& members, Verdict& end);
// Of those to restore, whom the rules refuse by now what is wanted are left out, as missing; why is
// in Member::refused.
void leave_out_refused(const plan::RackPlan& plan, const plan::Segment& segment,
                       const std::vector<NodeNow>& nodes, Members& members);
// A caution for each that is left out, whether there is anything to move or not: node-left-out.
// Whoever signs that answers also for the carriers that it does not bring where it stays: these are
// cautions then, no refusals, as long as each receiver still has an antenna. What it would let in
// or overdrive there is refused as ever.
void tell_left_out(const plan::RackPlan& plan, const Members& members,
                   const std::vector<plan::NodeName>& without, Verdict& end);

// What to do about those of them that are refused where they stay, a sentence; empty: none is.
std::string left_out_and_refused(const std::vector<plan::NodeName>& without, const Verdict& end);

// What the members, the way that was planned for them and its end say to a switch to `segment`,
// apart from the lock and other switches. `is_signed`: a waiver comes with it.
Prospect prospect_of(const plan::Segment& segment, const Members& members, const Way& way,
                     bool is_signed);

// The way there for all that are not missing. Whoever has no supply, and is given none on the way,
// stays out of it: it passes everything before and after, and is told its settings in the last
// step.
WayQuestion way_to(std::shared_ptr<const plan::RackPlan> plan, const plan::SegmentName& left,
                   const plan::SegmentName& entered, const std::vector<NodeNow>& nodes,
                   const Members& members);
// Adds the moves of those without supply to the last step, or makes one for them.
void move_along(const std::vector<NodeNow>& nodes, const std::vector<Member>& members, Way& way);
// A node without supply is a plain antenna wherever the switch leads, which alarms tell already:
// what is found of it at the end is a note, and does not hold the others.
void excuse_unsupplied(const std::vector<NodeNow>& nodes, Verdict& end);

}  // namespace catwalk::rack
