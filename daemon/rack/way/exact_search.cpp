// SPDX-License-Identifier: Apache-2.0
// Dynamic programming over sets of nodes. A state is the set of windows that have moved, those of
// matrices among them. The gain needs no state of its own: a node that goes down in two moves does
// so best with its gain in the very first step, one that goes up with its gain in the very last
// (see Split), and then at every moment it is at most as loud as with one apply. So the first step,
// the last one and those between are three kinds of transition.
#include <algorithm>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "daemon/rack/way/exact_search.hpp"

namespace catwalk::rack {
namespace {

using Set = std::uint32_t;

struct Cost {
  Count breaches;
  int steps = 0;
  friend auto operator<=>(const Cost&, const Cost&) = default;
  friend Cost operator+(Cost a, Cost b) { return {a.breaches + b.breaches, a.steps + b.steps}; }
};

struct Kind {
  bool first = false;
  bool last = false;
};

class ExactSearch {
 public:
  explicit ExactSearch(const WayProblem& problem)
      : problem_{problem}, all_{(Set{1} << problem.nodes.size()) - 1}, best_(all_ + 1U) {
    const auto set_of = [](const std::vector<std::size_t>& nodes) {
      Set set = 0;
      for (const auto node : nodes) set |= Set{1} << node;
      return set;
    };
    for (const auto& heard : problem.heard) {
      HeardSets sets{set_of(heard.gainers), set_of(heard.losers), {}, heard.weight};
      for (const auto& path : heard.paths)
        sets.paths.push_back({set_of(path.not_begun), set_of(path.there)});
      heard_.push_back(std::move(sets));
    }
    for (std::size_t i = 0; i < problem.nodes.size(); ++i) {
      if (!problem.nodes[i].must_split) continue;
      (problem.nodes[i].split == Split::gain_first ? not_first_ : not_last_) |= Set{1} << i;
    }
  }

  Solution run() {
    std::optional<Reached> end;
    const auto offer = [](std::optional<Reached>& place, const Cost& cost, Set before) {
      if (!place || cost < place->cost) place = Reached{cost, before};
    };
    if (const auto only = step(0, all_, {true, true})) offer(end, *only, no_step);
    for (Set set = 0; set <= all_; ++set)
      if (const auto cost = step(0, set, {true, false})) offer(best_[set], *cost, no_step);
    // Sets grow with every step, and a subset is a smaller number than its supersets.
    for (Set done = 0; done <= all_; ++done) {
      if (!best_[done]) continue;
      const auto here = best_[done]->cost;
      const Set rest = all_ & ~done;
      for (Set moving = rest; moving != 0; moving = (moving - 1) & rest)
        if (const auto cost = step(done, moving, {}))
          offer(best_[done | moving], here + *cost, done);
      if (const auto cost = step(done, rest, {false, true})) offer(end, here + *cost, done);
    }
    return trace(*end);  // every node may move in the second of three steps, so there is a way
  }

 private:
  static constexpr Set no_step = ~Set{0};
  struct Reached {
    Cost cost;
    Set before = no_step;  // the set that the last step started from; no_step: there was none
  };
  struct PathSets {
    Set not_begun = 0;
    Set there = 0;
  };
  struct HeardSets {
    Set gainers = 0;
    Set losers = 0;
    std::vector<PathSets> paths;
    int weight = 1;
    bool is_dark(Set done, Set begun) const {
      return (losers & ~begun) == 0 && (gainers & done) == 0 &&
             std::ranges::none_of(paths, [&](const PathSets& path) {
               return (path.not_begun & begun) == 0 && (path.there & ~done) == 0;
             });
    }
  };

  // Nothing: a node that must be split would not be.
  std::optional<Cost> step(Set done, Set moving, Kind kind) const {
    if (kind.first && (moving & not_first_) != 0) return std::nullopt;
    if (kind.last && (moving & not_last_) != 0) return std::nullopt;
    Cost cost{{}, 1};
    for (const auto& heard : heard_)
      if (heard.is_dark(done, done | moving)) cost.breaches.cautions += heard.weight;
    for (const auto& amplifier : problem_.amplifiers)
      cost.breaches = cost.breaches + breaches_of(amplifier, power(amplifier, done, moving, kind));
    return cost;
  }

  double power(const SharedAmplifier& amplifier, Set done, Set moving, Kind kind) const {
    return total(
        amplifier,
        [&](std::size_t node, const Loudness& loudness) {
          const bool flies = (moving >> node & 1U) != 0;
          const bool there = (done >> node & 1U) != 0;
          return loudest(loudness, problem_.nodes[node].split, flies, there, kind);
        },
        [&](std::size_t matrix, double before, double after) {
          if ((moving >> matrix & 1U) != 0) return std::max(before, after);
          return (done >> matrix & 1U) != 0 ? after : before;
        });
  }

  static double loudest(const Loudness& p, Split split, bool flies, bool there, Kind kind) {
    const auto either = [](double a, double b) { return a > b ? a : b; };
    switch (split) {
      case Split::gain_first:
        if (there) return p[1][1];
        if (kind.first) break;  // the gain is in flight, and perhaps the window
        return flies ? either(p[0][1], p[1][1]) : p[0][1];
      case Split::window_first:
        if (!there && !flies) return p[0][0];
        if (kind.last) {
          if (there) return either(p[1][0], p[1][1]);
          break;
        }
        return flies ? either(p[0][0], p[1][0]) : p[1][0];
      case Split::never:
        if (there) return p[1][1];
        if (!flies) return p[0][0];
        break;
    }
    if (!flies) return either(p[0][0], p[0][1]);
    return either(either(p[0][0], p[0][1]), either(p[1][0], p[1][1]));
  }

  Solution trace(const Reached& end) const {
    const int steps = end.cost.steps;
    Schedule schedule{std::vector<Schedule::Times>(problem_.nodes.size()), steps};
    Set after = all_;
    int at = steps;
    for (Reached reached = end;; reached = *best_[after]) {
      const Set before = reached.before == no_step ? 0 : reached.before;
      for (std::size_t i = 0; i < problem_.nodes.size(); ++i)
        if (((after & ~before) >> i & 1U) != 0) schedule.times[i] = {at, at};
      after = before;
      --at;
      if (reached.before == no_step) break;
    }
    for (std::size_t i = 0; i < problem_.nodes.size(); ++i) {
      if (problem_.nodes[i].split == Split::gain_first) schedule.times[i].gain = 1;
      if (problem_.nodes[i].split == Split::window_first) schedule.times[i].gain = steps;
    }
    return {std::move(schedule), end.cost.breaches, steps, true};
  }

  const WayProblem& problem_;
  Set all_;
  std::vector<std::optional<Reached>> best_;
  std::vector<HeardSets> heard_;
  Set not_first_ = 0;  // windows that must not move in the first step
  Set not_last_ = 0;
};

}  // namespace

Solution solve_exactly(const WayProblem& problem) { return ExactSearch{problem}.run(); }

}  // namespace catwalk::rack
