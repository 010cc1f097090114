// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a switch to a segment would do, before anything moves. A pure function of a snapshot: the
// core hears nothing of it, and asks the same planner the same question when it comes to it.

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/effect.hpp"
#include "daemon/rack/snapshot.hpp"
#include "daemon/rack/switching/way.hpp"

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
  plan::Settings before;
  plan::Settings target;
  bool answers = true;   // else it is left out, or holds the switch
  bool supplied = true;  // else it is a plain passive antenna, whatever it is set to
};

struct Preview {
  plan::SegmentName left;
  plan::SegmentName entered;
  std::optional<plan::CueName> cue;    // that it would lead to
  std::vector<PreviewedNode> nodes;    // that have to move, in the order of the plan
  Way way;                             // with all its verdicts
  std::vector<LineTime> lines;         // those with nodes that move and whose timing is known
  std::chrono::microseconds time{0};   // of all steps: lines work side by side, steps do not
  Outcome would_be = Outcome::done;    // or refused, needs_waiver, unreachable, busy
  std::vector<std::string> obstacles;  // what is in the way, a sentence each; empty: nothing
};

// Precondition: the plan has the segment.
Preview preview(const Snapshot& snapshot, const plan::SegmentName& segment);

// The time that a step needs on a line, with this many nodes of it moving. `settings`: one for each
// that moves; their labels have lengths.
std::chrono::microseconds time_of_step(const plan::LineTiming& timing,
                                       const std::vector<plan::Settings>& settings);

}  // namespace catwalk::rack
