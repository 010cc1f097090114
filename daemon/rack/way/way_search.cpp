// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/way_search.hpp"
#include "daemon/rack/way/exact_search.hpp"
#include "daemon/rack/way/wide_search.hpp"

#include <algorithm>
#include <numeric>

namespace catwalk::rack {
namespace {

// Nodes that some constraint joins, over any number of others.
class Groups {
 public:
  explicit Groups(const WayProblem& problem) : parent_(problem.nodes.size()) {
    std::iota(parent_.begin(), parent_.end(), std::size_t{0});
    for (const auto& heard : problem.heard) join(movers_of(heard));
    for (const auto& amplifier : problem.amplifiers) join(movers_of(amplifier));
  }
  std::size_t of(std::size_t node) const {
    while (parent_[node] != node) node = parent_[node];
    return node;
  }

 private:
  void join(const std::vector<std::size_t>& nodes) {
    for (const auto node : nodes) parent_[of(node)] = of(nodes.front());
  }
  std::vector<std::size_t> parent_;
};

struct Group {
  std::vector<std::size_t> members;  // their numbers in the whole problem
  WayProblem problem;
};

// Names everybody in a constraint anew.
class Renumbered {
 public:
  explicit Renumbered(const std::vector<std::size_t>& number) : number_{number} {}

  Heard operator()(Heard heard) const {
    rename(heard.gainers);
    rename(heard.losers);
    for (auto& path : heard.paths) {
      rename(path.not_begun);
      rename(path.there);
    }
    return heard;
  }
  SharedAmplifier operator()(SharedAmplifier amplifier) const {
    rename(amplifier);
    return amplifier;
  }

 private:
  void rename(std::vector<std::size_t>& nodes) const {
    for (auto& node : nodes) node = number_[node];
  }
  void rename(Powers& powers) const {
    rename(powers.nodes);
    for (auto& fork : powers.forks) {
      fork.matrix = number_[fork.matrix];
      rename(fork.before);
      rename(fork.after);
    }
  }
  const std::vector<std::size_t>& number_;
};

std::vector<Group> groups_of(const WayProblem& whole) {
  const Groups groups{whole};
  std::vector<Group> parts;
  std::vector<std::size_t> part_of(whole.nodes.size(), whole.nodes.size());  // by representative
  std::vector<std::size_t> number(whole.nodes.size());                       // within its group
  for (std::size_t node = 0; node < whole.nodes.size(); ++node) {
    auto& part = part_of[groups.of(node)];
    if (part == whole.nodes.size()) {
      part = parts.size();
      parts.emplace_back();
    }
    number[node] = parts[part].members.size();
    parts[part].members.push_back(node);
    parts[part].problem.nodes.push_back(whole.nodes[node]);
  }
  const Renumbered renumbered{number};
  const auto problem_with = [&](std::size_t node) -> WayProblem& {
    return parts[part_of[groups.of(node)]].problem;
  };
  for (const auto& heard : whole.heard)
    problem_with(movers_of(heard).front()).heard.push_back(renumbered(heard));
  for (const auto& amplifier : whole.amplifiers)
    problem_with(movers_of(amplifier).front()).amplifiers.push_back(renumbered(amplifier));
  return parts;
}

// Takes back splits that nothing needs, node by node.
void join_moves(const WayProblem& problem, Solution& solution) {
  for (std::size_t i = 0; i < problem.nodes.size(); ++i) {
    auto& times = solution.schedule.times[i];
    if (!times.split() || problem.nodes[i].must_split) continue;
    const auto split = times;
    times.gain = times.window;
    if (breaches_of(problem, solution.schedule) > solution.breaches) times = split;
  }
}

// Steps in which nothing happens: what was to be split there was joined.
void close_gaps(Schedule& schedule) {
  for (int step = schedule.steps; step >= 1; --step) {
    const bool used = std::ranges::any_of(schedule.times, [&](const Schedule::Times& times) {
      return times.window == step || times.gain == step;
    });
    if (used) continue;
    --schedule.steps;
    for (auto& times : schedule.times) {
      if (times.window > step) --times.window;
      if (times.gain > step) --times.gain;
    }
  }
}

}  // namespace

Solution solve(const WayProblem& problem) {
  Solution whole{{std::vector<Schedule::Times>(problem.nodes.size()), 0}, {}, 0, true};
  std::vector<std::pair<Group, Solution>> solved;
  for (auto& group : groups_of(problem)) {
    const auto& part = group.problem;
    auto solution = part.nodes.size() <= exact_nodes ? solve_exactly(part) : solve_widely(part);
    join_moves(part, solution);
    close_gaps(solution.schedule);
    solution.breaches = breaches_of(part, solution.schedule);  // an empty step may have been dark
    whole.schedule.steps = std::max(whole.schedule.steps, solution.schedule.steps);
    whole.at_least_steps = std::max(whole.at_least_steps, solution.at_least_steps);
    whole.breaches = whole.breaches + solution.breaches;
    whole.least_breaches = whole.least_breaches && solution.least_breaches;
    solved.emplace_back(std::move(group), std::move(solution));
  }
  for (const auto& [group, solution] : solved) {
    const bool late = std::ranges::any_of(group.problem.nodes, &WayProblem::Node::late);
    const int shift = late ? whole.schedule.steps - solution.schedule.steps : 0;
    for (std::size_t i = 0; i < group.members.size(); ++i) {
      const auto& times = solution.schedule.times[i];
      whole.schedule.times[group.members[i]] = {times.window + shift, times.gain + shift};
    }
  }
  return whole;
}

}  // namespace catwalk::rack
