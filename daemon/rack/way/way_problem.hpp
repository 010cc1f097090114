// SPDX-License-Identifier: Apache-2.0
#pragma once
// The way between two segments as a bare puzzle: nodes are numbers, physics is done. Everything
// that a search has to know, and what a solution costs.
//
// A node has two switches, gain and window (filter, centre, power), each thrown once, in some step
// 1 … n. Thrown in the same step, the node moves with one apply, and while that is in flight all
// four combinations count. Thrown in two steps, it rests on intermediate settings in between.

#include <array>
#include <cstddef>
#include <vector>

#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// How a node may be taken in two moves. Only one order is ever of use:
//   gain_first   when gain goes down. At every moment it is at most as loud as any other way that
//                moves the window in the same step, so long as that is not the first step.
//   window_first when gain goes up: the same, read backwards.
// Proof: power grows with gain. With the gain lowered first the node is, before its window moves,
// as loud as it was or less; while it moves, as loud as the new settings or as the old window at
// the new gain; a window that moves at the old gain adds (old gain, new window), louder than both
// end settings that share one of the two.
enum class Split { never, gain_first, window_first };

// A receiver that must hear carriers, all of which the same nodes bring. Heard at a moment: a
// loser that has not begun to move, or a gainer that is there. Nodes that surely pass them before
// and after need no order, and there is no such constraint where one does.
struct Heard {
  std::vector<std::size_t> gainers;  // pass the carriers with their new window only; never empty
  std::vector<std::size_t> losers;   // with their old window only; never empty
  int weight = 1;                    // how many carriers
  friend bool operator==(const Heard&, const Heard&) = default;
};

// mW at an amplifier's input by [window new][gain new].
using Loudness = std::array<std::array<double, 2>, 2>;

// An amplifier behind several nodes that move. Their powers add.
struct SharedAmplifier {
  std::vector<std::size_t> nodes;
  std::vector<Loudness> loudness;  // of each of `nodes`
  double caution = 0.0;            // mW: more is a breach …
  double refuse = 0.0;             // … and more than this one that is refused; ≥ `caution`
  friend bool operator==(const SharedAmplifier&, const SharedAmplifier&) = default;
};

struct WayProblem {
  struct Node {
    Split split = Split::never;  // gain_first, window_first: may be split that way
    bool must_split = false;     // one apply would be a breach whatever the others do
    bool late = false;           // rather in the last steps than in the first
    friend bool operator==(const Node&, const Node&) = default;
  };
  std::vector<Node> nodes;
  std::vector<Heard> heard;
  std::vector<SharedAmplifier> amplifiers;
};

struct Schedule {
  struct Times {
    int window = 1;  // steps count from 1
    int gain = 1;
    bool split() const { return window != gain; }
    friend bool operator==(const Times&, const Times&) = default;
  };
  std::vector<Times> times;  // of each node
  int steps = 0;
};

// One node's worst power while step `step` is in flight, mW.
double loudest(const Loudness& loudness, const Schedule::Times& times, int step);
// One amplifier's worst power while step `step` is in flight, mW.
double worst_power(const SharedAmplifier& amplifier, const Schedule& schedule, int step);
bool is_dark(const Heard& heard, const Schedule& schedule, int step);
// What is broken, counted for every step in which it is, carriers one by one.
Count breaches_of(const SharedAmplifier& amplifier, double power);
// Of all steps together.
Count breaches_of(const WayProblem& problem, const Schedule& schedule);

struct Solution {
  Schedule schedule;
  Count breaches;  // none: the way is clean
  // No way with as few breaches has fewer steps than this. Where `least_breaches` is not proven, a
  // bound for clean ways only.
  int at_least_steps = 0;
  bool least_breaches = true;  // proven that no way has fewer
};

}  // namespace catwalk::rack
