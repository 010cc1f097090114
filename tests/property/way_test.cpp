// SPDX-License-Identifier: Apache-2.0
// The planner of the way between segments against an exhaustive search.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdio>
#include <map>
#include <random>

#include "daemon/rack/way/exact_search.hpp"
#include "daemon/rack/way/way_search.hpp"
#include "daemon/rack/way/wide_search.hpp"
#include "tests/support/way_oracle.hpp"
#include "tests/support/way_racks.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using test::Crossing;
using test::WayOracle;

namespace {

// The planner with the order taken out of it: everything in one step.
Way all_at_once(const Crossing& crossing) {
  Way way;
  Step step;
  for (const auto& ends : crossing.nodes)
    if (ends.target && ends.target != ends.present)
      step.moves.push_back({ends.node, MovePart::whole, ends.present, *ends.target});
  if (!step.moves.empty()) way.steps.push_back(std::move(step));
  return way;
}

struct Seen {
  std::map<int, int> clean;  // by the number of steps
  int broken = 0;
  int split = 0;
  int caught = 0;  // racks in which all at once breaks something
};

void hold_against_exhaustive_search(const Crossing& crossing, Seen& seen) {
  const auto task = crossing.task();
  const auto way = plan_way(task, WayDetail::steps_only);
  const WayOracle oracle{task};
  const auto best = oracle.best();
  const bool possible = best.refusals == 0 && best.cautions == 0;
  CHECK(way.clean() == (possible && !oracle.unavoidable()));
  CHECK(static_cast<int>(way.steps.size()) == best.steps);
  CHECK((oracle.cost_of(way) == best));
  const auto violations = oracle.violations(way);
  const auto first = violations.empty() ? std::string{} : violations.front();
  CAPTURE(first);
  CHECK(violations.empty() == possible);
  CHECK(way.least_bad);
  CHECK(way.at_least_steps == best.steps);
  if (possible)
    ++seen.clean[best.steps];
  else
    ++seen.broken;
  for (const auto& step : way.steps)
    for (const auto& move : step.moves) seen.split += move.part == MovePart::gain ? 1 : 0;
  const bool breaks = !oracle.violations(all_at_once(crossing)).empty();
  seen.caught += breaks && possible ? 1 : 0;
  // Where the planner takes more than one step, one step would not have done.
  CHECK((breaks || way.steps.size() <= 1));
}

void look_at(unsigned first, unsigned count, int most) {
  Seen seen;
  for (unsigned seed = first; seed < first + count; ++seed) {
    CAPTURE(seed);
    hold_against_exhaustive_search(test::random_crossing(most, seed), seen);
  }
  std::printf("%u racks up to %d nodes: no clean way in %d; clean ways of", count, most,
              seen.broken);
  for (const auto& [steps, racks] : seen.clean) std::printf(" %d steps: %d,", steps, racks);
  std::printf(" nodes moved twice: %d, all at once caught in %d\n", seen.split, seen.caught);
  // Every kind was seen, and the broken planner was caught often.
  CHECK(seen.broken > static_cast<int>(count) / 100);
  CHECK(seen.clean[1] > static_cast<int>(count) / 100);
  CHECK(seen.clean[2] > static_cast<int>(count) / 100);
  CHECK(seen.clean[3] > 0);
  CHECK(seen.split > static_cast<int>(count) / 100);
  CHECK(seen.caught > static_cast<int>(count) / 50);
}

// Bare puzzles of one group, harder than racks are.
WayProblem random_problem(std::mt19937& random, std::size_t nodes) {
  const auto any = [&](std::size_t low, std::size_t high) {
    return std::uniform_int_distribution<std::size_t>{low, high}(random);
  };
  WayProblem problem;
  problem.nodes.resize(nodes);
  const auto count = any(nodes - 1, 3 * nodes);
  for (std::size_t i = 0; i < count; ++i) {
    Heard heard;
    for (std::size_t node = 0; node < nodes; ++node) {
      const auto draw = any(0, 3 * nodes);
      if (draw < 2) heard.gainers.push_back(node);
      if (draw >= 2 && draw < 5) heard.losers.push_back(node);
    }
    if (heard.gainers.empty() || heard.losers.empty()) continue;
    problem.heard.push_back(std::move(heard));
  }
  for (auto& node : problem.nodes) {
    const auto draw = any(0, 9);
    if (draw > 2) continue;
    node.split = draw == 0 ? Split::gain_first : Split::window_first;
    node.must_split = draw < 2;
  }
  for (std::size_t i = any(0, 2); i > 0; --i) {
    SharedAmplifier amplifier;
    double old_sum = 0.0;
    double new_sum = 0.0;
    for (std::size_t node = 0; node < nodes; ++node) {
      if (any(0, 2) != 0) continue;
      const auto level = [&] { return static_cast<double>(any(1, 9)); };
      Loudness p{{{level(), 0}, {0, level()}}};
      switch (problem.nodes[node].split) {
        case Split::gain_first:
          p[0][1] = p[0][0] / 2;
          p[1][0] = p[1][1] * 2;
          break;
        case Split::window_first:
          p[0][1] = p[0][0] * 2;
          p[1][0] = p[1][1] / 2;
          break;
        case Split::never:
          p[0][1] = p[0][0];
          p[1][0] = p[1][1];
          break;
      }
      old_sum += p[0][0];
      new_sum += p[1][1];
      amplifier.nodes.push_back(node);
      amplifier.loudness.push_back(p);
    }
    if (amplifier.nodes.size() < 2) continue;
    amplifier.caution = std::max(old_sum, new_sum) + static_cast<double>(any(0, 6));
    amplifier.refuse = amplifier.caution * 1.5;
    problem.amplifiers.push_back(std::move(amplifier));
  }
  return problem;
}

}  // namespace

TEST_CASE("the way has the feasibility, breaches and steps that an exhaustive search finds") {
  look_at(1, 600, 6);
}

// A program of its own in ctest, since it takes longer.
TEST_CASE("the same for many racks of up to eight nodes" * doctest::skip()) {
  look_at(1'000'000, MANY_RACKS, 8);
}

TEST_CASE("the search for large groups agrees with the exact one") {
  std::mt19937 random{7};
  int clean = 0;
  int impossible = 0;
  int as_good = 0;
  for (int round = 0; round < 1'500; ++round) {
    CAPTURE(round);
    const auto problem = random_problem(random, 4 + static_cast<std::size_t>(round) % 6);
    const auto exact = solve_exactly(problem);
    const auto wide = solve_widely(problem);
    CHECK(breaches_of(problem, exact.schedule) == exact.breaches);
    CHECK(breaches_of(problem, wide.schedule) == wide.breaches);
    CHECK(exact.breaches.none() == wide.breaches.none());
    CHECK(exact.breaches <= wide.breaches);
    if (exact.breaches.none()) {
      ++clean;
      CHECK(wide.schedule.steps == exact.schedule.steps);
      CHECK(wide.at_least_steps == exact.schedule.steps);
    } else {
      ++impossible;
      as_good += wide.breaches == exact.breaches ? 1 : 0;
    }
  }
  std::printf("1500 groups: a clean way in %d, the least bad one found in %d of %d others\n", clean,
              as_good, impossible);
  CHECK(clean > 100);
  CHECK(impossible > 100);
}

TEST_CASE("large groups take at most a step more than their lower bound") {
  std::mt19937 random{99};
  int clean = 0;
  int proven = 0;
  for (int round = 0; round < 60; ++round) {
    CAPTURE(round);
    const auto problem = random_problem(random, 16 + 16 * static_cast<std::size_t>(round % 4));
    const auto solution = solve(problem);
    CHECK(breaches_of(problem, solution.schedule) == solution.breaches);
    if (!solution.breaches.none()) continue;
    ++clean;
    proven += solution.schedule.steps == solution.at_least_steps ? 1 : 0;
    CHECK(solution.schedule.steps <= solution.at_least_steps + 1);
  }
  std::printf("60 groups of 16 to 64 nodes: a clean way in %d, optimum proven in %d\n", clean,
              proven);
  CHECK(clean > 30);
}

TEST_CASE(
    "a rack of 64 nodes that hang together has a clean way within a step of its lower bound") {
  for (unsigned seed = 1; seed <= 12; ++seed) {
    CAPTURE(seed);
    const auto crossing = test::long_crossing(64, seed);
    const auto task = crossing.task();
    const auto way = plan_way(task, WayDetail::steps_only);
    const WayOracle oracle{task};
    CHECK(oracle.violations(way).empty() == way.clean());
    CHECK(static_cast<int>(way.steps.size()) <= way.at_least_steps + 1);
    CHECK(oracle.violations(all_at_once(crossing)).size() > 10);
  }
}
