// SPDX-License-Identifier: Apache-2.0
// The planner of the way in racks behind matrices against an exhaustive search.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdio>
#include <map>

#include "tests/support/routed_oracle.hpp"
#include "tests/support/routed_racks.hpp"
#include "tests/support/share.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using test::Crossing;
using test::RoutedOracle;

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
  int refused = 0;
  int split = 0;
  int caught = 0;  // racks in which all at once breaks something
};

void hold_against_exhaustive_search(const Crossing& crossing, Seen& seen) {
  const auto task = crossing.task();
  const auto way = plan_way(task, WayDetail::steps_only);
  const RoutedOracle oracle{task};
  const auto best = oracle.best();
  const bool possible = best.refusals == 0 && best.cautions == 0;
  const auto violations = oracle.violations(way);
  const auto first = violations.empty() ? std::string{} : violations.front();
  CAPTURE(first);
  CHECK(way.clean() == (possible && !oracle.unavoidable()));
  CHECK(violations.empty() == possible);
  CHECK((oracle.cost_of(way) == best));
  CHECK(static_cast<int>(way.steps.size()) == best.steps);
  CHECK(way.least_bad);
  CHECK(way.at_least_steps == best.steps);
  if (possible)
    ++seen.clean[best.steps];
  else
    ++(best.refusals > 0 ? seen.refused : seen.broken);
  for (const auto& step : way.steps)
    for (const auto& move : step.moves) seen.split += move.part == MovePart::gain ? 1 : 0;
  const bool breaks = !oracle.violations(all_at_once(crossing)).empty();
  seen.caught += breaks && possible ? 1 : 0;
  CHECK((breaks || way.steps.size() <= 1));
}

void look_at(unsigned first, unsigned count) {
  Seen seen;
  for (unsigned seed = first; seed < first + count; ++seed) {
    CAPTURE(seed);
    hold_against_exhaustive_search(test::routed_crossing(6, seed), seen);
  }
  std::printf("%u racks behind matrices: no clean way in %d and %d; clean ways of", count,
              seen.broken, seen.refused);
  for (const auto& [steps, racks] : seen.clean) std::printf(" %d steps: %d,", steps, racks);
  std::printf(" nodes moved twice: %d, all at once caught in %d\n", seen.split, seen.caught);
  // Every kind was seen; one in a hundred has no way that is not refused.
  CHECK(seen.broken > static_cast<int>(count) / 100);
  if (count >= 250) CHECK(seen.refused > 0);
  CHECK(seen.clean[1] > static_cast<int>(count) / 100);
  CHECK(seen.clean[2] > static_cast<int>(count) / 100);
  CHECK(seen.caught > static_cast<int>(count) / 50);
}

}  // namespace

TEST_CASE("behind matrices the way is as good as an exhaustive search finds") {
  look_at(1, test::share_of(400U));
}

// A program of its own in ctest, since it takes longer.
TEST_CASE("the same for many racks behind matrices" * doctest::skip()) {
  look_at(1'000'000, MANY_RACKS);
}
