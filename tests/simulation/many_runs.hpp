// SPDX-License-Identifier: Apache-2.0
#pragma once
// Many seeds, each in turn, in several processes that share nothing.

#include <map>
#include <string>

#include "tests/simulation/mutation.hpp"
#include "tests/simulation/script.hpp"
#include "tests/simulation/tally.hpp"
#include "tests/simulation/virtual_clock.hpp"

namespace catwalk::simulation {

struct SeedRange {
  std::uint64_t first = 1;
  std::uint64_t last = 1;  // included; not below the first
};

struct ManyRuns {
  std::uint64_t seeds = 0;
  Micros simulated{0};
  Tally tally;
  std::map<std::uint64_t, std::string> failed;  // and the invariant that was broken
};

// `jobs` at least 1. Throws std::system_error where there is no process or pipe
// to be had.
ManyRuns run_many(SeedRange seeds, Micros length, Mutation mutation, unsigned jobs,
                  Honesty honesty = Honesty::all_honest);

}  // namespace catwalk::simulation
