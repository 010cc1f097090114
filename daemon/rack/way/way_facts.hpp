// SPDX-License-Identifier: Apache-2.0
#pragma once
// Everything that physics and plan say about a switch, computed once: for each node, each of the
// settings that it may be in, and the routes and supplies of before and of after, what it surely
// passes, what it lets in, and how loud it is in each amplifier. From these the puzzle of
// way_problem.hpp is made, and its breaches are told.

#include <memory>
#include <string>
#include <vector>

#include "daemon/rack/way/live_between.hpp"
#include "daemon/rack/way/way.hpp"
#include "daemon/rack/way/way_problem.hpp"

namespace catwalk::rack {

// A node that moves.
struct Mover {
  plan::NodeName name;
  std::optional<plan::NodeSettings> present;
  plan::NodeSettings target;
  // The settings with this window and this gain; of a matrix, which moves whole, its target if
  // either is new. Precondition: `present` is known or both are new.
  plan::NodeSettings at(bool new_window, bool new_gain) const;
};

// Beside the puzzle, for each of its constraints whom it is about.
struct WayFacts {
  struct HeardBy {
    const plan::Receiver* receiver = nullptr;
    std::vector<std::size_t> carriers;  // of `live`
  };
  struct Amplifier {
    std::string name;
    double p1db = 0.0;   // mW at its input
    double limit = 0.0;  // P1dB less the margin
  };

  std::vector<LiveCarrier> live;
  std::shared_ptr<const plan::RackPlan> then;  // with every matrix where it is moved to
  std::vector<plan::Segment> between;          // of each node of the plan, see segment_between()
  std::vector<Mover> movers;                   // in the order of the plan
  WayProblem problem;                          // over `movers`
  std::vector<HeardBy> heard;                  // of problem.heard
  std::vector<Amplifier> amplifiers;           // of problem.amplifiers
  std::vector<Finding> unavoidable;  // broken in the old or the new settings, whatever the order
};

WayFacts facts_of(const SwitchTask& task);

// "The amplifier of …": one finding of amplifier-overload. `node`: may be empty.
Finding overload_on_the_way(const WayFacts::Amplifier& amplifier, const plan::NodeName& node,
                            double power, Severity severity, const std::string& when);

}  // namespace catwalk::rack
