// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a switch to a segment would do, before anything moves. A pure function of a snapshot: the
// core hears nothing of it, and asks the same planner the same question when it comes to it.

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/values/snapshot.hpp"
#include "daemon/rack/way/crew_sheet.hpp"
#include "daemon/rack/way/way.hpp"

namespace catwalk::rack {

// How long a line is expected to be busy with each step: staging, applying, reading back. Without
// repeats, and without the readings that it takes in between.
struct LineTime {
  plan::LineName line;
  std::vector<std::chrono::microseconds> steps;
  std::chrono::microseconds total{0};
};

struct PreviewedNode {
  plan::NodeName node;
  plan::LineName line;
  plan::NodeSettings before;
  plan::NodeSettings target;
  bool answers = true;  // else the switch goes on without it, or does not begin
  bool left_out = false;
  bool supplied = true;  // else it is a plain passive antenna, whatever it is set to
};

// What comes by itself once the switch is done: the cue after the one that it leads to, if the
// clock or a duration triggers it.
struct Follows {
  plan::Cue cue;
  std::optional<TimePoint> due;  // by the clock; absent: a duration, which counts from the switch
  bool held_by_lock = false;     // unless it is armed by then
};

struct Preview {
  plan::SegmentName left;
  plan::SegmentName entered;
  plan::IfNodeFails if_a_node_fails = plan::IfNodeFails::go_on;
  bool from_now = true;               // else every node begins as the segment that is left has it
  std::optional<plan::CueName> cue;   // that it would lead to
  std::vector<PreviewedNode> nodes;   // that have to move, in the order of the plan
  Way way;                            // with all its verdicts
  std::vector<LineTime> lines;        // those with nodes that move and whose timing is known
  std::chrono::microseconds time{0};  // of all steps: lines work side by side, steps do not
  std::vector<std::string> missing;   // names, those that were never met included
  bool is_signed = false;             // it is armed with a waiver, that goes with it
  Prospect prospect;
  std::optional<Prospect> if_armed;  // where nothing but arming passes the lock; absent: as it is
  std::optional<Follows> follows;    // only from now
  std::vector<CrewRow> crew;         // what people do
};

// Precondition: the plan has the segment, and the nodes that are left out.
Preview preview(const Snapshot& snapshot, const plan::SegmentName& segment,
                const std::vector<plan::NodeName>& without = {});

// The same from any segment to another: each node begins where it is wanted in `left`, answers and
// is supplied, whatever it shows now. Lock, arming and a switch under way are of now, and do not
// count.
Preview preview_between(const Snapshot& snapshot, const plan::SegmentName& left,
                        const plan::SegmentName& entered,
                        const std::vector<plan::NodeName>& without = {});

// What bringing back would do: members_to_restore(). The lock does not hold it.
Preview preview_restoring(const Snapshot& snapshot, const std::vector<plan::NodeName>& only);

// The time that a step needs on a line, with this many nodes of it moving. `settings`: one for each
// that moves; their labels have lengths.
std::chrono::microseconds time_of_step(const plan::LineTiming& timing,
                                       const std::vector<plan::NodeSettings>& settings);

}  // namespace catwalk::rack
