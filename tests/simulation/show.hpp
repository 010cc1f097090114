// SPDX-License-Identifier: Apache-2.0
#pragma once
// A random rack and its show: nodes on one to three lines of both kinds,
// receivers with diversity, chains with levels, segments whose settings the
// rules mostly take. The same for the same seed.

#include <memory>
#include <string>
#include <vector>

#include "daemon/plan/device.hpp"
#include "daemon/plan/node_settings.hpp"
#include "daemon/plan/rack_plan.hpp"
#include "drivers/line/engine.hpp"

namespace catwalk::simulation {

enum class LineKind { serial, datagrams };

struct LineSetup {
  plan::LineName name;
  LineKind kind = LineKind::serial;
  drivers::Micros reading_age{0};
};

struct Show {
  std::uint64_t seed = 0;
  std::shared_ptr<const plan::RackPlan> plan;  // at least two segments
  std::vector<LineSetup> lines;                // in the plan's order
  bool routed = false;                         // some of its antennas end at a matrix
};

Show random_show(std::uint64_t seed);
// The same with one or two matrices between antennas and receivers, whose routes, trims and
// supplies go with the segments.
Show routed_show(std::uint64_t seed);
// What the evening of this seed takes place in: one in three has matrices.
Show evening_show(std::uint64_t seed);

// The show in words, one fact a line: for people, and to notice that a seed
// gives another show than it once did.
std::string described(const Show& show);

// The plan as it is after the files were edited and read again: the same lines,
// nodes and segments, with other limits, lanes or transmitters. Edit 0 is the
// plan as it was.
std::shared_ptr<const plan::RackPlan> edited(const Show& show, unsigned edit);

// The settings that a segment has for an amplifier, on top of `base`.
plan::Settings planned(const plan::Node& node, const plan::Segment& segment,
                       const plan::Settings& base);
// Likewise of a device of either kind.
plan::NodeSettings planned(const plan::Device& device, const plan::Segment& segment,
                           const plan::NodeSettings& base);

}  // namespace catwalk::simulation
