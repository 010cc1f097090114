// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/many_runs.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <system_error>

#include "tests/simulation/world.hpp"

namespace catwalk::simulation {
namespace {

// What a process tells of one seed. Shorter than PIPE_BUF, so that each is
// written in one piece.
struct Told {
  std::uint64_t seed = 0;
  std::int64_t micros = 0;
  Tally tally;
  char invariant[96] = "";  // empty: all is well
};
static_assert(sizeof(Told) <= 512);

[[noreturn]] void run_share(SeedRange seeds, Micros length, Mutation mutation, unsigned jobs,
                            unsigned mine, Honesty honesty, int to) {
  for (auto seed = seeds.first + mine; seed <= seeds.last; seed += jobs) {
    World world{random_script(evening_show(seed), length, honesty), mutation};
    const auto end = world.run();
    Told told{.seed = seed, .micros = end.at.count(), .tally = end.tally};
    if (end.violation) end.violation->invariant.copy(told.invariant, sizeof told.invariant - 1);
    if (write(to, &told, sizeof told) != sizeof told) _exit(1);
  }
  _exit(0);
}

[[noreturn]] void give_up(const char* what) {
  throw std::system_error{errno, std::generic_category(), what};
}

}  // namespace

ManyRuns run_many(SeedRange seeds, Micros length, Mutation mutation, unsigned jobs,
                  Honesty honesty) {
  int ends[2];
  if (pipe(ends) != 0) give_up("pipe");
  std::vector<pid_t> children;
  for (unsigned i = 0; i < jobs; ++i) {
    const auto child = fork();
    if (child < 0) give_up("fork");
    if (child == 0) {
      close(ends[0]);
      run_share(seeds, length, mutation, jobs, i, honesty, ends[1]);
    }
    children.push_back(child);
  }
  close(ends[1]);

  ManyRuns all;
  for (auto seed = seeds.first; seed <= seeds.last; ++seed)
    all.failed.emplace(seed, "its process died");
  Told told;
  while (read(ends[0], &told, sizeof told) == sizeof told) {
    ++all.seeds;
    all.simulated += Micros{told.micros};
    all.tally.add(told.tally);
    if (told.invariant[0] == 0)
      all.failed.erase(told.seed);
    else
      all.failed[told.seed] = told.invariant;
  }
  close(ends[0]);
  for (const auto child : children) waitpid(child, nullptr, 0);
  return all;
}

}  // namespace catwalk::simulation
