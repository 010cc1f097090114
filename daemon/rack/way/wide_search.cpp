// SPDX-License-Identifier: Apache-2.0
// For groups too large to try every set: is there a clean way in 1, in 2, in 3 … steps
// (clean_search.hpp)? Where none is found, as little is broken as can be done step by step.
#include <algorithm>
#include <utility>
#include <vector>

#include "daemon/rack/way/clean_search.hpp"
#include "daemon/rack/way/wide_search.hpp"

namespace catwalk::rack {
namespace {

constexpr int branches_each = 4'000;    // for one number of steps
constexpr int branches_whole = 60'000;  // for one group

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
  auto any = search_clean(problem, most, branches_each);
  if (!any.schedule && any.complete) {
    result.impossible = true;
    return result;
  }
  int budget = branches_whole;
  for (int steps = 1; steps <= most && budget > 0; ++steps) {
    const int branches = std::min(budget, branches_each);
    auto way = search_clean(problem, steps, branches);
    if (way.schedule) {
      result.schedule = std::move(way.schedule);
      return result;
    }
    if (way.complete && result.at_least == steps) result.at_least = steps + 1;
    budget -= branches - way.branches_left;
  }
  result.schedule = std::move(any.schedule);
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
      auto found = search_clean(trial, most_steps(trial), branches_each / 4).schedule;
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
Solution least_bad(const WayProblem& problem, int at_least_if_clean) {
  auto kept = improved(problem, keep_most(problem));
  auto fast = improved(problem, all_at_once(problem));
  const auto rank = [&](const Schedule& schedule) {
    return std::pair{breaches_of(problem, schedule), schedule.steps};
  };
  auto& best = rank(fast) < rank(kept) ? fast : kept;
  const auto breaches = breaches_of(problem, best);
  return {std::move(best), breaches, breaches.none() ? at_least_if_clean : 1, breaches.none()};
}

}  // namespace

Solution solve_widely(const WayProblem& problem) {
  auto clean = find_clean(problem);
  if (clean.schedule) return {std::move(*clean.schedule), {}, clean.at_least, true};
  return least_bad(problem, clean.at_least);
}

}  // namespace catwalk::rack
