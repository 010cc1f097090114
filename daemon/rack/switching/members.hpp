// SPDX-License-Identifier: Apache-2.0
#pragma once
// Whom a switch to a segment has to move, and what there is to ask the planner. The same for the
// core, which does it, and for a preview, which only looks.

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/snapshot.hpp"
#include "daemon/rack/switching/way.hpp"

namespace catwalk::rack {

// What is known of a node at this moment.
struct NodeNow {
  plan::NodeName name;
  std::optional<plan::Settings> wanted;    // absent: never met
  std::optional<plan::Settings> seen;      // as last read back
  std::optional<plan::Settings> in_force;  // absent: it does not answer, or may have others by now
  bool supplied = false;                   // else a plain passive antenna
};
// `uncertain`: see NodeView.
NodeNow now_of(const plan::NodeName& name, const std::optional<Wanted>& wanted,
               const std::optional<Seen>& seen, Link link, bool uncertain);
inline NodeNow now_of(const NodeView& node) {
  return now_of(node.name, node.wanted, node.seen, node.link, node.uncertain);
}
// What the antenna does: without supply it is passive. Nothing: it was never read.
std::optional<plan::Settings> passive_without_supply(const std::optional<Seen>& seen);

// Why a switch may not begin, where the core and a preview say the same.
inline constexpr std::string_view locked_without_arming =
    "The rack is locked for the show. Unlock it, or arm the cue that leads there.";
// "left and right do not answer"
std::string do_not_answer(const std::vector<std::string>& names);
// That, in a segment that goes on without nobody.
std::string all_or_nothing(const std::vector<std::string>& missing);

struct Member {
  std::size_t place = 0;  // in the rack
  plan::Settings before;  // as last read; of one that was never read, as wanted
  plan::Settings target;
  bool missing = false;  // it does not answer
};

struct Members {
  std::vector<Member> nodes;  // in the order of the plan; whoever is there already is not here
  std::vector<std::string> missing;  // names, those that were never met included
  std::vector<Finding> findings;     // of settings that their datasheets do not know
};

// `nodes`: of the rack, in the order of the plan.
Members members_of(const plan::RackPlan& plan, const plan::Segment& segment,
                   const std::vector<NodeNow>& nodes);

// The way there for all that are not missing. Whoever has no supply stays out of it: it passes
// everything before and after, and is told its settings in the last step.
WayQuestion way_to(std::shared_ptr<const plan::RackPlan> plan, const plan::SegmentName& left,
                   const plan::SegmentName& entered, const std::vector<NodeNow>& nodes,
                   const Members& members);
// Adds the moves of those without supply to the last step, or makes one for them.
void move_along(const std::vector<NodeNow>& nodes, const std::vector<Member>& members, Way& way);
// A node without supply is a plain antenna wherever the switch leads, which alarms tell already:
// what is found of it at the end is a note, and does not hold the others.
void excuse_unsupplied(const std::vector<NodeNow>& nodes, Verdict& end);

}  // namespace catwalk::rack
