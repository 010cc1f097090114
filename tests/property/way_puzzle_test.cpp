// SPDX-License-Identifier: Apache-2.0
// The puzzle of the way, matrices among what moves, against an exhaustive search.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdio>
#include <map>
#include <random>

#include "daemon/rack/way/exact_search.hpp"
#include "daemon/rack/way/paths.hpp"
#include "daemon/rack/way/way_search.hpp"
#include "daemon/rack/way/wide_search.hpp"
#include "tests/support/puzzle_oracle.hpp"
#include "tests/support/share.hpp"

using namespace catwalk;
using namespace catwalk::rack;
using test::PuzzleOracle;

namespace {

class Random {
 public:
  explicit Random(unsigned seed) : engine_{seed} {}
  std::size_t any(std::size_t low, std::size_t high) {
    return std::uniform_int_distribution<std::size_t>{low, high}(engine_);
  }
  bool one_in(std::size_t count) { return any(1, count) == 1; }
  double level() { return static_cast<double>(any(1, 9)); }

 private:
  std::mt19937 engine_;
};

// Some puzzle with so many movers, of which so many are matrices, in any order. What is said of the
// ends holds: heard at both, and no amplifier too loud at one.
class RandomPuzzle {
 public:
  RandomPuzzle(Random& random, std::size_t movers, std::size_t matrices) : random_{random} {
    problem_.nodes.resize(movers);
    for (std::size_t i = 0; i < movers; ++i) {
      const bool matrix = random.any(1, movers - i) <= matrices;
      if (matrix) --matrices;
      problem_.nodes[i].matrix = matrix;
      (matrix ? matrices_ : amplifiers_).push_back(i);
    }
    for (const auto i : amplifiers_) {
      auto& node = problem_.nodes[i];
      const auto draw = random.any(0, 9);
      if (draw > 3) continue;
      node.split = draw % 2 == 0 ? Split::gain_first : Split::window_first;
      node.must_split = draw < 2;
    }
    for (auto count = random.any(1, movers + 1); count > 0; --count) add_heard();
    for (auto count = random.any(0, 2); count > 0; --count) add_amplifier();
  }
  const WayProblem& problem() const { return problem_; }

 private:
  std::size_t one_of(const std::vector<std::size_t>& movers) {
    return movers[random_.any(0, movers.size() - 1)];
  }

  void add_heard() {
    if (random_.one_in(2)) {
      if (auto one = heard_by(some_paths(2), static_cast<int>(random_.any(1, 3))))
        problem_.heard.push_back(std::move(*one));
      return;
    }
    Paths paths;
    for (auto count = random_.any(2, 5); count > 0; --count) {
      Path path;
      for (auto left = random_.any(1, 3); left > 0; --left) {
        const auto mover = random_.any(0, problem_.nodes.size() - 1);
        if (std::ranges::count(path.not_begun, mover) + std::ranges::count(path.there, mover) > 0)
          continue;
        // The first path is that of the old end, the second one that of the new.
        const bool there = paths.empty() ? false : paths.size() == 1 || random_.one_in(2);
        (there ? path.there : path.not_begun).push_back(mover);
      }
      paths.push_back(std::move(path));
    }
    if (auto one = heard_by(paths, static_cast<int>(random_.any(1, 3))))
      problem_.heard.push_back(std::move(*one));
  }

  // As racks have them: antennas, and outputs with antennas behind them.
  Paths some_paths(int depth) {
    Paths all;
    for (auto count = random_.any(1, 2); count > 0; --count) {
      if (depth > 0 && !matrices_.empty() && !random_.one_in(3))
        all =
            either(all, switched(one_of(matrices_), some_paths(depth - 1), some_paths(depth - 1)));
      else if (!amplifiers_.empty() && !random_.one_in(8))
        all = random_.one_in(2) ? either(all, switched(one_of(amplifiers_), always(), never()))
                                : either(all, switched(one_of(amplifiers_), never(), always()));
      else if (random_.one_in(4))
        all = always();
    }
    return all;
  }

  Loudness loudness_of(std::size_t node) {
    Loudness p{{{random_.level(), 0}, {0, random_.level()}}};
    const double by = random_.one_in(4) ? 1.0 : 2.0;
    switch (problem_.nodes[node].split) {
      case Split::gain_first:
        p[0][1] = p[0][0] / by;
        p[1][0] = p[1][1] * by;
        break;
      case Split::window_first:
        p[0][1] = p[0][0] * by;
        p[1][0] = p[1][1] / by;
        break;
      case Split::never:
        p[0][1] = p[0][0];
        p[1][0] = p[1][1];
        break;
    }
    return p;
  }

  void fill(Powers& powers, int depth) {
    if (random_.one_in(4)) powers.steady = random_.level();
    for (const auto node : amplifiers_) {
      if (!random_.one_in(3) || powers.nodes.size() == 3) continue;
      powers.nodes.push_back(node);
      powers.loudness.push_back(loudness_of(node));
    }
    if (depth == 0 || matrices_.empty()) return;
    for (auto count = random_.any(0, 2); count > 0; --count) {
      Fork fork;
      fork.matrix = one_of(matrices_);
      fill(fork.before, depth - 1);
      fill(fork.after, depth - 1);
      powers.forks.push_back(std::move(fork));
    }
  }

  void add_amplifier() {
    SharedAmplifier amplifier;
    fill(amplifier, 2);
    if (movers_of(amplifier).empty()) return;
    amplifier.caution = std::max(before_all(amplifier), after_all(amplifier)) +
                        static_cast<double>(random_.any(0, 12)) / 2;
    amplifier.refuse = amplifier.caution + static_cast<double>(random_.any(0, 4));
    problem_.amplifiers.push_back(std::move(amplifier));
  }

  Random& random_;
  WayProblem problem_;
  std::vector<std::size_t> amplifiers_;
  std::vector<std::size_t> matrices_;
};

struct Seen {
  std::map<int, int> clean;  // by the number of steps
  int refused = 0;
  int dark_or_loud = 0;
  int routed = 0;
  int proven_by_wide = 0;
  int missed_by_wide = 0;
};

void hold_against_exhaustive_search(const WayProblem& problem, Seen& seen) {
  const PuzzleOracle oracle{problem};
  REQUIRE(oracle.unsound() == "");
  const auto best = oracle.best();
  const Count least{best.refusals, best.cautions};

  for (const auto& amplifier : problem.amplifiers)
    CHECK(most_of(amplifier) == oracle.most_of(amplifier));

  const auto exact = solve_exactly(problem);
  CHECK(exact.breaches == least);
  CHECK(exact.schedule.steps == best.steps);
  CHECK(exact.at_least_steps == best.steps);
  CHECK((oracle.cost_of(exact.schedule) == best));
  const auto whole = solve(problem);
  CHECK(whole.breaches == least);
  CHECK(whole.least_breaches);
  CHECK(whole.at_least_steps == best.steps);
  CHECK((oracle.cost_of(whole.schedule) == best));

  const auto wide = solve_widely(problem);
  const auto cost = oracle.cost_of(wide.schedule);
  CHECK(wide.breaches == Count{cost.refusals, cost.cautions});
  CHECK(wide.breaches >= least);
  if (least.none()) CHECK(wide.at_least_steps <= best.steps);
  if (wide.least_breaches) CHECK(wide.breaches == least);
  if (wide.breaches.none()) CHECK(wide.schedule.steps >= best.steps);

  seen.refused += best.refusals > 0 ? 1 : 0;
  seen.dark_or_loud += best.refusals == 0 && best.cautions > 0 ? 1 : 0;
  seen.routed += std::ranges::any_of(problem.amplifiers,
                                     [](const auto& amplifier) { return !amplifier.forks.empty(); })
                     ? 1
                     : 0;
  if (!least.none()) return;
  ++seen.clean[best.steps];
  seen.proven_by_wide += wide.breaches.none() && wide.at_least_steps == best.steps ? 1 : 0;
  seen.missed_by_wide += wide.breaches.none() ? 0 : 1;
}

void look_at(unsigned first, unsigned count) {
  Seen seen;
  for (unsigned seed = first; seed < first + count; ++seed) {
    CAPTURE(seed);
    Random random{seed};
    const auto movers = 1 + seed % 6;
    const auto matrices = random.any(0, std::min<std::size_t>(movers, 3));
    hold_against_exhaustive_search(RandomPuzzle{random, movers, matrices}.problem(), seen);
  }
  int clean = 0;
  std::printf("%u puzzles, %d with an amplifier behind a matrix: refused %d, cautions %d, clean in",
              count, seen.routed, seen.refused, seen.dark_or_loud);
  for (const auto& [steps, puzzles] : seen.clean) {
    std::printf(" %d steps: %d,", steps, puzzles);
    clean += puzzles;
  }
  std::printf(" the wide search proves %d of them and misses %d\n", seen.proven_by_wide,
              seen.missed_by_wide);
  const auto one_in = [&](int share) { return static_cast<int>(count) / share; };
  CHECK(seen.refused > one_in(100));
  CHECK(seen.dark_or_loud > one_in(20));
  CHECK(seen.routed > one_in(10));
  CHECK(seen.clean[1] > one_in(20));
  CHECK(seen.clean[2] > one_in(20));
  CHECK(seen.clean[3] > one_in(100));
  CHECK(seen.missed_by_wide <= clean / 100);
  CHECK(seen.proven_by_wide >= clean - clean / 50);
}

// Over what carriers come, as a drawing: antennas, and outputs that lead to other drawings.
struct Drawing {
  bool before = false;  // an antenna: passes them …
  bool after = false;
  std::size_t mover = 0;
  std::vector<Drawing> old_routes;  // an output, if there is any
  std::vector<Drawing> new_routes;
  bool output() const { return !old_routes.empty() || !new_routes.empty(); }
};

Drawing random_drawing(Random& random, int depth) {
  Drawing one;
  if (depth == 0 || random.one_in(3)) {
    // Antennas are movers 3, 4 …; what an antenna passes is its own affair.
    one.mover = random.any(3, 7);
    one.before = one.mover < 6;
    one.after = one.mover > 4;
    return one;
  }
  one.mover = random.any(0, 2);
  for (auto* routes : {&one.old_routes, &one.new_routes})
    for (auto count = random.any(0, 2); count > 0; --count)
      routes->push_back(random_drawing(random, depth - 1));
  return one;
}

Paths paths_of(const std::vector<Drawing>& drawings) {
  Paths all;
  for (const auto& one : drawings)
    all = either(all, one.output()
                          ? switched(one.mover, paths_of(one.old_routes), paths_of(one.new_routes))
                          : switched(one.mover, one.before ? always() : never(),
                                     one.after ? always() : never()));
  return all;
}

enum class Place { old_one, flies, new_one };

struct May {
  bool be_heard = false;
  bool be_dark = false;
};

// In any combination of what is in flight, each output for itself; but an antenna that is in flight
// is at one place for all outputs, the new one if it is in the set `antennas`.
May may(const std::vector<Drawing>& drawings, const std::vector<Place>& places,
        std::size_t antennas) {
  May all{false, true};
  for (const auto& one : drawings) {
    May own;
    const auto place = places[one.mover];
    if (one.output()) {
      for (const auto* routes : {&one.old_routes, &one.new_routes}) {
        if (place != Place::flies && (place == Place::old_one) != (routes == &one.old_routes))
          continue;
        const auto side = may(*routes, places, antennas);
        own = {own.be_heard || side.be_heard, own.be_dark || side.be_dark};
      }
    } else {
      const bool there =
          place == Place::new_one || (place == Place::flies && (antennas >> one.mover & 1U) != 0);
      const bool passes = there ? one.after : one.before;
      own = {passes, !passes};
    }
    all = {all.be_heard || own.be_heard, all.be_dark && own.be_dark};
  }
  return all;
}

// A puzzle that is made by hand.
struct Named {
  WayProblem problem;
  std::size_t add(bool matrix) {
    problem.nodes.emplace_back().matrix = matrix;
    return problem.nodes.size() - 1;
  }
  std::size_t matrix() { return add(true); }
  std::size_t antenna() { return add(false); }
  void hear(const Paths& paths) {
    auto one = heard_by(paths, 1);
    REQUIRE(one);
    problem.heard.push_back(std::move(*one));
  }
};

Powers one_node(std::size_t node, const Loudness& loudness) {
  Powers powers;
  powers.nodes.push_back(node);
  powers.loudness.push_back(loudness);
  return powers;
}

Powers steady(double power) {
  Powers powers;
  powers.steady = power;
  return powers;
}

}  // namespace

TEST_CASE("a puzzle with matrices has the breaches and steps that an exhaustive search finds") {
  look_at(1, test::share_of(600U));
}

// A program of its own in ctest, since it takes longer.
TEST_CASE("the same for many puzzles" * doctest::skip()) { look_at(1'000'000, MANY_PUZZLES); }

TEST_CASE("paths bring carriers just where every combination of what is in flight does") {
  int bright = 0;
  int dark = 0;
  for (unsigned seed = 1; seed <= test::share_of(2'000U); ++seed) {
    CAPTURE(seed);
    Random random{seed};
    std::vector<Drawing> branches;
    for (auto count = random.any(1, 3); count > 0; --count)
      branches.push_back(random_drawing(random, 2));
    const auto paths = paths_of(branches);
    for (int moment = 0; moment < 40; ++moment) {
      std::vector<Place> places;
      for (int i = 0; i < 8; ++i) places.push_back(static_cast<Place>(random.any(0, 2)));
      bool surely = true;
      for (std::size_t antennas = 0; antennas < 256; antennas += 8)
        surely = surely && !may(branches, places, antennas).be_dark;
      const auto all_at = [&](const std::vector<std::size_t>& movers, Place place) {
        return std::ranges::all_of(movers, [&](auto mover) { return places[mover] == place; });
      };
      const bool by_paths = std::ranges::any_of(paths, [&](const Path& path) {
        return all_at(path.not_begun, Place::old_one) && all_at(path.there, Place::new_one);
      });
      CHECK(by_paths == surely);
      ++(surely ? bright : dark);
    }
  }
  CHECK(bright > 1'000);
  CHECK(dark > 1'000);
}

TEST_CASE("paths that lead two ways at once are bounded, and never brighter for it") {
  Paths before;
  Paths after;
  for (std::size_t i = 1; i <= 20; ++i) {
    before = either(before, switched(i, always(), never()));
    after = either(after, switched(20 + i, never(), always()));
  }
  const auto paths = switched(0, before, after);
  CHECK(paths.size() == 40 + most_meanwhile);
  for (const auto& path : paths) CHECK(path.not_begun.size() + path.there.size() == 2);
}

TEST_CASE("an output that goes from one antenna to another needs both while the matrix moves") {
  Named rack;
  const auto matrix = rack.matrix();
  const auto leaves = rack.antenna();
  const auto comes = rack.antenna();
  rack.hear(
      switched(matrix, switched(leaves, always(), never()), switched(comes, never(), always())));
  const auto way = solve(rack.problem);
  CHECK(way.breaches.none());
  CHECK(way.schedule.steps == 3);
  CHECK(way.schedule.times[comes].window == 1);
  CHECK(way.schedule.times[matrix].window == 2);
  CHECK(way.schedule.times[leaves].window == 3);

  SUBCASE("also where the search for large groups plans it") {
    const auto wide = solve_widely(rack.problem);
    CHECK(wide.schedule.times == way.schedule.times);
    CHECK(wide.at_least_steps == 3);
  }
}

TEST_CASE("two matrices in a row move with what they lead to") {
  Named rack;
  const auto near = rack.matrix();
  const auto far = rack.matrix();
  const auto leaves = rack.antenna();
  const auto first = switched(far, switched(leaves, always(), never()), never());
  // The receiver's output leads over the far matrix before, and to an antenna of its own after.
  rack.hear(switched(near, first, always()));
  const auto way = solve(rack.problem);
  CHECK(way.breaches.none());
  CHECK(way.schedule.steps == 2);
  CHECK(way.schedule.times[near].window == 1);
  CHECK(way.schedule.times[far].window == 2);
  CHECK(way.schedule.times[leaves].window == 2);
}

TEST_CASE("an antenna in use keeps its supply until another one has the carriers") {
  Named rack;
  const auto matrix = rack.matrix();
  const auto comes = rack.antenna();
  // With its supply it amplifies and passes them; without, it is a passive one that passes them
  // all the same, and then the receiver does not depend on it.
  CHECK_FALSE(heard_by(switched(matrix, always(), always()), 1));
  // Where the plan needs its gain, it brings nothing without.
  rack.hear(either(switched(matrix, always(), never()), switched(comes, never(), always())));
  const auto way = solve(rack.problem);
  CHECK(way.breaches.none());
  CHECK(way.schedule.times[comes].window == 1);
  CHECK(way.schedule.times[matrix].window == 2);
}

TEST_CASE("an amplifier behind an output counts its old routes or its new ones, not both") {
  Named rack;
  const auto matrix = rack.matrix();
  SharedAmplifier amplifier;
  amplifier.forks.push_back({matrix, steady(4), steady(4)});
  amplifier.caution = 5;
  amplifier.refuse = 5;
  rack.problem.amplifiers.push_back(amplifier);
  CHECK(solve(rack.problem).breaches.none());

  // Two outputs that meet: one has settled, perhaps, and the other has not.
  amplifier.forks = {{matrix, steady(4), steady(1)}, {matrix, steady(1), steady(4)}};
  rack.problem.amplifiers = {amplifier};
  CHECK(solve(rack.problem).breaches == Count{1, 0});
}

TEST_CASE("a loud antenna is padded before an output leads to it") {
  Named rack;
  const auto matrix = rack.matrix();
  const auto padded = rack.antenna();
  SharedAmplifier amplifier;
  amplifier.forks.push_back({matrix, steady(1), one_node(padded, Loudness{{{9, 9}, {3, 3}}})});
  amplifier.caution = 4;
  amplifier.refuse = 8;
  rack.problem.amplifiers.push_back(amplifier);
  const auto way = solve(rack.problem);
  CHECK(way.breaches.none());
  CHECK(way.schedule.times[padded].window == 1);
  CHECK(way.schedule.times[matrix].window == 2);
}

TEST_CASE("the search for large groups claims nothing that the exact one knows to be wrong") {
  int clean = 0;
  int impossible = 0;
  int as_good = 0;
  int missed = 0;
  for (unsigned seed = 1; seed <= test::share_of(400U); ++seed) {
    CAPTURE(seed);
    Random random{seed};
    const auto movers = 6 + (seed % 40 == 0 ? 6 : seed % 5);
    const auto problem = RandomPuzzle{random, movers, random.any(1, 3)}.problem();
    const auto exact = solve_exactly(problem);
    const auto wide = solve_widely(problem);
    CHECK(breaches_of(problem, exact.schedule) == exact.breaches);
    CHECK(breaches_of(problem, wide.schedule) == wide.breaches);
    CHECK(exact.breaches <= wide.breaches);
    if (wide.least_breaches) CHECK(wide.breaches == exact.breaches);
    if (!exact.breaches.none()) {
      ++impossible;
      as_good += wide.breaches == exact.breaches ? 1 : 0;
      continue;
    }
    ++clean;
    missed += wide.breaches.none() ? 0 : 1;
    CHECK(wide.at_least_steps <= exact.schedule.steps);
    if (wide.breaches.none()) CHECK(wide.schedule.steps >= exact.schedule.steps);
  }
  std::printf(
      "%d groups have a clean way, the wide search misses %d; of %d others it is as good in %d\n",
      clean, missed, impossible, as_good);
  CHECK(clean > test::share_of(100));
  CHECK(impossible > test::share_of(100));
  CHECK(missed <= clean / 50);
}

// A rack as they are built: antennas that end in a first matrix, of whose outputs some lead into a
// second one; receivers with two branches each; an amplifier behind every third output.
WayProblem rack_on_two_matrices(Random& random, std::size_t antennas) {
  Named rack;
  const auto first = rack.matrix();
  const auto second = rack.matrix();
  for (std::size_t i = 0; i < antennas; ++i) rack.antenna();
  const auto one = [&] {
    const auto antenna = 2 + random.any(0, antennas - 1);
    return std::pair{antenna, antenna % 3 == 0   ? switched(antenna, always(), never())
                              : antenna % 3 == 1 ? switched(antenna, never(), always())
                                                 : always()};
  };
  struct Output {
    Paths paths;
    Fork fork;
  };
  const auto output = [&] {
    Output made{never(), {first, {}, {}}};
    Paths before;
    Paths after;
    for (auto count = random.any(1, 2); count > 0; --count) {
      const auto [old_one, old_paths] = one();
      const auto [new_one, new_paths] = one();
      before = either(before, old_paths);
      after = either(after, new_paths);
      for (const auto& [side, antenna] :
           {std::pair{&made.fork.before, old_one}, std::pair{&made.fork.after, new_one}}) {
        const double now = random.level();
        const double then = random.level();
        side->nodes.push_back(antenna);
        side->loudness.push_back(Loudness{{{now, now}, {then, then}}});
      }
    }
    made.paths = switched(first, before, after);
    if (random.one_in(4))
      made.paths = switched(second, made.paths, either(one().second, one().second));
    return made;
  };
  for (std::size_t receiver = 0; receiver < antennas; ++receiver) {
    const auto branches = std::pair{output(), output()};
    if (auto heard = heard_by(either(branches.first.paths, branches.second.paths), 1))
      rack.problem.heard.push_back(std::move(*heard));
    if (receiver % 3 != 0) continue;
    SharedAmplifier amplifier;
    amplifier.forks.push_back(branches.first.fork);
    amplifier.caution = std::max(before_all(amplifier), after_all(amplifier)) +
                        static_cast<double>(random.any(0, 12));
    amplifier.refuse = amplifier.caution + 4;
    rack.problem.amplifiers.push_back(std::move(amplifier));
  }
  return rack.problem;
}

TEST_CASE("racks of 16 to 64 antennas on two matrices are planned as a whole") {
  int clean = 0;
  int proven = 0;
  const int racks = test::share_of(40);
  for (unsigned seed = 1; seed <= static_cast<unsigned>(racks); ++seed) {
    CAPTURE(seed);
    Random random{seed};
    const auto problem = rack_on_two_matrices(random, 16 << seed % 3);
    const auto way = solve(problem);
    CHECK(breaches_of(problem, way.schedule) == way.breaches);
    if (!way.breaches.none()) continue;
    ++clean;
    CHECK(way.schedule.steps >= way.at_least_steps);
    CHECK(way.schedule.steps <= way.at_least_steps + 1);
    proven += way.schedule.steps == way.at_least_steps ? 1 : 0;
  }
  std::printf("%d racks on two matrices: a clean way in %d, optimum proven in %d\n", racks, clean,
              proven);
  CHECK(clean > racks / 2);
  CHECK(proven > clean / 2);
}
