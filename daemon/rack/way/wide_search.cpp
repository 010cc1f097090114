// SPDX-License-Identifier: Apache-2.0
// For groups too large to try every set: is there a clean way in 1, in 2, in 3 … steps?
//
// Every window has bounds, the earliest and the latest step. "Gainer g before loser l" moves the
// earliest of l and the latest of g. The windows are tried at their earliest steps; if a receiver
// is dark then, one of its pairs (g, l) has to be in order in any clean way, so each is tried. If
// an amplifier is too loud, one of its nodes is fixed to its earliest step or kept from it. Every
// branch that is left out is left out because it holds no way: a search that ends within its budget
// is complete.
#include <algorithm>
#include <limits>
#include <optional>
#include <utility>

#include "daemon/rack/way/wide_search.hpp"

namespace catwalk::rack {
namespace {

constexpr int branches_each = 4'000;    // for one number of steps
constexpr int branches_whole = 60'000;  // for one group

// A node that goes down in two moves does so best with its gain in the first step, one that goes up
// with its gain in the last; see Split.
Schedule::Times times_in(const WayProblem::Node& node, int window, int steps) {
  if (node.split == Split::gain_first) return {window, 1};
  if (node.split == Split::window_first) return {window, steps};
  return {window, window};
}

class CleanSearch {
 public:
  CleanSearch(const WayProblem& problem, int steps, int budget)
      : problem_{problem}, steps_{steps}, budget_{budget} {}

  std::optional<Schedule> run() {
    Bounds bounds;
    for (const auto& node : problem_.nodes) {
      bounds.earliest.push_back(node.must_split && node.split == Split::gain_first ? 2 : 1);
      bounds.latest.push_back(node.must_split && node.split == Split::window_first ? steps_ - 1
                                                                                   : steps_);
    }
    return search(std::move(bounds));
  }
  bool complete() const { return budget_ > 0; }
  int left() const { return std::max(budget_, 0); }

 private:
  struct Bounds {
    std::vector<int> earliest;
    std::vector<int> latest;
    std::vector<std::pair<std::size_t, std::size_t>> order;  // the first before the second
  };

  static bool propagate(Bounds& bounds) {
    for (bool moved = true; moved;) {
      moved = false;
      for (const auto& [before, after] : bounds.order) {
        if (bounds.earliest[after] <= bounds.earliest[before]) {
          bounds.earliest[after] = bounds.earliest[before] + 1;
          moved = true;
        }
        if (bounds.latest[before] >= bounds.latest[after]) {
          bounds.latest[before] = bounds.latest[after] - 1;
          moved = true;
        }
        // Also what ends a circle of orders, which would climb for ever.
        if (bounds.earliest[after] > bounds.latest[after] ||
            bounds.earliest[before] > bounds.latest[before])
          return false;
      }
    }
    for (std::size_t i = 0; i < bounds.earliest.size(); ++i)
      if (bounds.earliest[i] > bounds.latest[i]) return false;
    return true;
  }

  Schedule::Times times_of(std::size_t node, int window) const {
    return times_in(problem_.nodes[node], window, steps_);
  }

  Schedule soonest(const Bounds& bounds) const {
    Schedule schedule{{}, steps_};
    for (std::size_t i = 0; i < bounds.earliest.size(); ++i)
      schedule.times.push_back(times_of(i, bounds.earliest[i]));
    return schedule;
  }

  // Too loud in some step, even if every node did the best that its bounds allow.
  bool hopeless(const SharedAmplifier& amplifier, const Bounds& bounds) const {
    for (int step = 1; step <= steps_; ++step) {
      double least = 0.0;
      for (std::size_t i = 0; i < amplifier.nodes.size(); ++i) {
        const auto node = amplifier.nodes[i];
        // Before, in or after this step: all that matters of when the window moves.
        double quietest = std::numeric_limits<double>::infinity();
        for (int window = step - 1; window <= step + 1; ++window)
          if (reaches(bounds, node, window, step))
            quietest =
                std::min(quietest, loudest(amplifier.loudness[i], times_of(node, window), step));
        least += quietest;
      }
      if (!breaches_of(amplifier, least).none()) return true;
    }
    return false;
  }

  static bool reaches(const Bounds& bounds, std::size_t node, int window, int step) {
    if (window < step) return bounds.earliest[node] < step;
    if (window > step) return bounds.latest[node] > step;
    return bounds.earliest[node] <= step && step <= bounds.latest[node];
  }

  bool relieved(const Heard& heard, const Bounds& bounds) const {
    int first = steps_ + 1;
    int last = 0;
    for (const auto node : heard.gainers) first = std::min(first, bounds.earliest[node]);
    for (const auto node : heard.losers) last = std::max(last, bounds.earliest[node]);
    return first < last;
  }

  std::optional<Schedule> search(Bounds bounds) {
    if (!propagate(bounds) || --budget_ <= 0) return std::nullopt;
    for (const auto& amplifier : problem_.amplifiers)
      if (hopeless(amplifier, bounds)) return std::nullopt;
    // The receiver with the fewest ways out first.
    std::optional<std::vector<std::pair<std::size_t, std::size_t>>> fewest;
    for (const auto& heard : problem_.heard) {
      if (relieved(heard, bounds)) continue;
      std::vector<std::pair<std::size_t, std::size_t>> pairs;
      for (const auto gainer : heard.gainers)
        for (const auto loser : heard.losers)
          if (bounds.earliest[gainer] < bounds.latest[loser]) pairs.emplace_back(gainer, loser);
      if (!fewest || pairs.size() < fewest->size()) fewest = std::move(pairs);
      if (fewest->size() <= 1) break;
    }
    if (fewest) {
      std::ranges::sort(*fewest, {}, [&](const auto& pair) {
        return bounds.earliest[pair.first] - bounds.earliest[pair.second];
      });
      for (const auto& pair : *fewest) {
        auto next = bounds;
        next.order.push_back(pair);
        if (auto found = search(std::move(next))) return found;
        if (budget_ <= 0) break;
      }
      return std::nullopt;
    }
    auto schedule = soonest(bounds);
    const auto* loud = too_loud(schedule);
    return loud == nullptr ? std::optional{std::move(schedule)} : delay_one(*loud, bounds);
  }

  const SharedAmplifier* too_loud(const Schedule& schedule) const {
    for (const auto& amplifier : problem_.amplifiers)
      for (int step = 1; step <= steps_; ++step)
        if (!breaches_of(amplifier, worst_power(amplifier, schedule, step)).none())
          return &amplifier;
    return nullptr;
  }

  std::optional<Schedule> delay_one(const SharedAmplifier& amplifier, const Bounds& bounds) {
    for (const auto node : amplifier.nodes) {
      if (bounds.earliest[node] == bounds.latest[node]) continue;
      auto later = bounds;
      ++later.earliest[node];
      if (auto found = search(std::move(later))) return found;
      if (budget_ <= 0) return std::nullopt;
      auto fixed = bounds;
      fixed.latest[node] = fixed.earliest[node];
      return search(std::move(fixed));
    }
    return std::nullopt;
  }

  const WayProblem& problem_;
  int steps_;
  int budget_;
};

// More steps than this help nobody: one for each node, and one for gains at either end.
int most_steps(const WayProblem& problem) { return static_cast<int>(problem.nodes.size()) + 2; }

struct Clean {
  std::optional<Schedule> schedule;
  int at_least = 1;
  bool impossible = false;  // proven
};

Clean find_clean(const WayProblem& problem) {
  Clean result;
  const int most = most_steps(problem);
  // A way in any number of steps is one in the most: is there one at all?
  CleanSearch any{problem, most, branches_each};
  auto fallback = any.run();
  if (!fallback && any.complete()) {
    result.impossible = true;
    return result;
  }
  int budget = branches_whole;
  for (int steps = 1; steps <= most && budget > 0; ++steps) {
    CleanSearch search{problem, steps, std::min(budget, branches_each)};
    result.schedule = search.run();
    if (result.schedule) return result;
    if (search.complete() && result.at_least == steps) result.at_least = steps + 1;
    budget -= std::min(budget, branches_each) - search.left();
  }
  result.schedule = std::move(fallback);
  return result;
}

// Constraints are taken in one by one, the gravest first, and those that leave a way are kept. None
// of the others could be taken in again.
Schedule keep_most(const WayProblem& problem) {
  struct Item {
    bool amplifier = false;
    std::size_t index = 0;
    int weight = 0;
  };
  std::vector<Item> items;
  for (std::size_t i = 0; i < problem.amplifiers.size(); ++i) items.push_back({true, i, 0});
  for (std::size_t i = 0; i < problem.heard.size(); ++i)
    items.push_back({false, i, problem.heard[i].weight});
  std::ranges::stable_sort(items, [](const Item& a, const Item& b) {
    return std::pair{!a.amplifier, -a.weight} < std::pair{!b.amplifier, -b.weight};
  });
  WayProblem kept{problem.nodes, {}, {}};
  auto last = find_clean(kept).schedule;  // at most three steps: nothing joins the nodes
  for (const auto& item : items) {
    auto trial = kept;
    if (item.amplifier)
      trial.amplifiers.push_back(problem.amplifiers[item.index]);
    else
      trial.heard.push_back(problem.heard[item.index]);
    const bool stands = last && breaches_of(trial, *last).none();
    if (!stands) {
      CleanSearch search{trial, most_steps(trial), branches_each / 4};
      auto found = search.run();
      if (!found) continue;
      last = std::move(found);
    }
    kept = std::move(trial);
  }
  auto shortest = find_clean(kept).schedule;
  return shortest ? std::move(*shortest) : std::move(*last);
}

// As few steps as there can be, whatever it breaks.
Schedule all_at_once(const WayProblem& problem) {
  Schedule schedule{{}, 1};
  bool first = false;
  for (const auto& node : problem.nodes) {
    if (node.must_split && node.split == Split::gain_first) first = true;
    if (node.must_split) schedule.steps = 2;
  }
  const bool both = first && std::ranges::any_of(problem.nodes, [](const auto& node) {
                      return node.must_split && node.split == Split::window_first;
                    });
  if (both) schedule.steps = 3;
  for (const auto& node : problem.nodes)
    schedule.times.push_back(times_in(node, first ? 2 : 1, schedule.steps));
  return schedule;
}

// Moves single windows to other steps as long as that breaks less.
Schedule improved(const WayProblem& problem, Schedule schedule) {
  auto best = breaches_of(problem, schedule);
  for (bool better = true; better && !best.none();) {
    better = false;
    for (std::size_t i = 0; i < problem.nodes.size(); ++i) {
      const auto& node = problem.nodes[i];
      const int from = node.must_split && node.split == Split::gain_first ? 2 : 1;
      const int to =
          schedule.steps - (node.must_split && node.split == Split::window_first ? 1 : 0);
      for (int window = from; window <= to; ++window) {
        const auto before = schedule.times[i];
        schedule.times[i] = times_in(node, window, schedule.steps);
        if (const auto now = breaches_of(problem, schedule); now < best) {
          best = now;
          better = true;
        } else {
          schedule.times[i] = before;
        }
      }
    }
  }
  return schedule;
}

// No clean way was found. Two starts, each made better as long as one node alone can do so; nothing
// is proven.
Solution least_bad(const WayProblem& problem) {
  auto kept = improved(problem, keep_most(problem));
  auto fast = improved(problem, all_at_once(problem));
  const auto rank = [&](const Schedule& schedule) {
    return std::pair{breaches_of(problem, schedule), schedule.steps};
  };
  auto& best = rank(fast) < rank(kept) ? fast : kept;
  const auto breaches = breaches_of(problem, best);
  return {std::move(best), breaches, 1, breaches.none()};
}

}  // namespace

Solution solve_widely(const WayProblem& problem) {
  auto clean = find_clean(problem);
  if (clean.schedule) return {std::move(*clean.schedule), {}, clean.at_least, true};
  return least_bad(problem);
}

}  // namespace catwalk::rack
