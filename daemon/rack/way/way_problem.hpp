// SPDX-License-Identifier: Apache-2.0
#pragma once
// The way between two segments as a bare puzzle: what moves are numbers, physics is done.
// Everything that a search has to know, and what a solution costs.
//
// What moves is an antenna's amplifier or a matrix; below, a mover.
//
// An amplifier has two switches, gain and window (filter, centre, power), each thrown once, in some
// step 1 … n. Thrown in the same step, it moves with one apply, and while that is in flight all
// four combinations count. Thrown in two steps, it rests on intermediate settings in between.
//
// A matrix has one switch, its window; its gain is thrown with it. While it is in flight each of
// its outputs has its old routes or its new ones, and each of its inputs its old supply or its new
// one, in any combination. Of one that applies its outputs at once these are all old or all new.

#include <array>
#include <compare>
#include <cstddef>
#include <span>
#include <vector>

#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// How an amplifier may be taken in two moves. Only one order is ever of use:
//   gain_first   when gain goes down. At every moment it is at most as loud as any other way that
//                moves the window in the same step, so long as that is not the first step.
//   window_first when gain goes up: the same, read backwards.
// Proof: power grows with gain. With the gain lowered first the node is, before its window moves,
// as loud as it was or less; while it moves, as loud as the new settings or as the old window at
// the new gain; a window that moves at the old gain adds (old gain, new window), louder than both
// end settings that share one of the two.
//   The same holds behind matrices, whatever these do meanwhile. Gain in the first step: while that
// is in flight, the old gain counts with every other schedule too, and at each window it is the
// louder of the two; in every later step only the new gain counts, at each window the quieter one,
// and every other schedule has one gain or both there. So each single Loudness of this node, those
// below forks too, is at every moment at most what it is with any other step for the gain. What
// an amplifier has is sums and greater ones of these (Powers), which grow with each of them. The
// matrices' own steps are the same in both schedules.
enum class Split { never, gain_first, window_first };

// Something that brings carriers to a receiver, surely, at every moment when all of those in
// `not_begun` have not begun to move and all of those in `there` are there. What is in flight is
// neither. paths.hpp puts paths together.
struct Path {
  std::vector<std::size_t> not_begun;
  std::vector<std::size_t> there;  // nobody is in both
  friend auto operator<=>(const Path&, const Path&) = default;
};

// A receiver that must hear carriers, all of which come by the same paths. Dark at a moment: no
// path brings them surely.
//
// Whoever makes the puzzle sees to it that it is heard at both ends, for dark at an end is no worse
// on the way: some path has nobody in `there`, and some path nobody in `not_begun`. No path is
// without conditions: then nothing needs order, and there is no such constraint.
struct Heard {
  std::vector<std::size_t> gainers;  // paths with one condition: it is there …
  std::vector<std::size_t> losers;   // … it has not begun to move
  int weight = 1;                    // how many carriers
  std::vector<Path> paths = {};      // all others
  friend bool operator==(const Heard&, const Heard&) = default;

  // All paths by their numbers: losers, gainers, and the others.
  struct View {
    std::span<const std::size_t> not_begun;
    std::span<const std::size_t> there;
  };
  std::size_t count() const { return losers.size() + gainers.size() + paths.size(); }
  View path(std::size_t number) const;
};

// mW at an amplifier's input by [window new][gain new]. Never less with the higher gain, where the
// node may be split.
using Loudness = std::array<std::array<double, 2>, 2>;

struct Fork;

// Powers that add. Each counts with the loudest that it may be at a moment, so this is the worst of
// all combinations; of one who stands here twice, as if each settled for itself, which is never too
// little.
struct Powers {
  std::vector<std::size_t> nodes;  // amplifiers that move
  std::vector<Loudness> loudness;  // of each of `nodes`
  double steady = 0.0;             // mW, of what stays as it is
  std::vector<Fork> forks;
  friend bool operator==(const Powers&, const Powers&) = default;
};

// What a matrix decides: an output, with what its old routes bring and what its new ones do (their
// losses and trims are counted in these). Or the supply of an input, with the antenna as it is with
// the old supply and with the new one: without, its Loudness is that of a passive antenna. Forks
// may stand in forks: two matrices in a row; an antenna whose supply moves behind an output that
// does. While the matrix is in flight either may count, the louder of the two.
struct Fork {
  std::size_t matrix = 0;
  Powers before;
  Powers after;
  friend bool operator==(const Fork&, const Fork&) = default;
};

// An amplifier in which the powers of several that move meet. Whoever makes the puzzle sees to it
// that neither end is more than `caution`: an amplifier may be as loud as its louder end.
struct SharedAmplifier : Powers {
  double caution = 0.0;  // mW: more is a breach …
  double refuse = 0.0;   // … and more than this one that is refused; ≥ `caution`
  friend bool operator==(const SharedAmplifier&, const SharedAmplifier&) = default;
};

// No antenna that is in use loses its supply on the way: that needs no constraint of its own. As
// long as a carrier comes by it, a path of it has the matrix that is to end its supply among those
// that have not begun to move; what it passes without supply is one path more.
struct WayProblem {
  struct Node {                  // amplifier or matrix
    Split split = Split::never;  // gain_first, window_first: may be split that way; a matrix never
    bool must_split = false;     // one apply would be a breach whatever the others do
    bool late = false;           // rather in the last steps than in the first
    bool matrix = false;
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

// All that the constraint depends on, in order, each once.
std::vector<std::size_t> movers_of(const Heard& heard);
std::vector<std::size_t> movers_of(const Powers& powers);

// All powers together: `leaf(node, loudness)` says what one node brings, and `choose(matrix,
// before, after)` what counts of the two sums of a fork.
template <class Leaf, class Choose>
double total(const Powers& powers, const Leaf& leaf, const Choose& choose) {
  double sum = powers.steady;
  for (std::size_t i = 0; i < powers.nodes.size(); ++i)
    sum += leaf(powers.nodes[i], powers.loudness[i]);
  for (const auto& fork : powers.forks)
    sum += choose(fork.matrix, total(fork.before, leaf, choose), total(fork.after, leaf, choose));
  return sum;
}

// All powers together, mW: at the old end, at the new one, and the most that there may be at any
// moment, whatever the order. Where the most is no more than `caution`, no constraint is needed.
double before_all(const Powers& powers);
double after_all(const Powers& powers);
double most_of(const Powers& powers);

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
