// SPDX-License-Identifier: Apache-2.0
#pragma once
// The puzzle of the way (daemon/rack/way/way_problem.hpp) solved a second time, by brute force: all
// ways there are, gain and window thrown in any order, and at every moment all combinations of what
// is in flight, one by one. Shares no code with the searches but the puzzle's data.

#include <cstdint>
#include <string>
#include <unordered_map>
#include <vector>

#include "daemon/rack/way/way_problem.hpp"

namespace catwalk::test {

struct PuzzleCost {
  int refusals = 0;
  int cautions = 0;
  int steps = 0;
  friend auto operator<=>(const PuzzleCost&, const PuzzleCost&) = default;
};

class PuzzleOracle {
 public:
  // The problem has to live as long. Some 12 switches are the most: two of a node that may be
  // split, one of any other.
  explicit PuzzleOracle(const rack::WayProblem& problem);

  // What is wrong with the puzzle itself; empty: nothing.
  std::string unsound() const;
  // The most with everything in flight.
  double most_of(const rack::Powers& powers) const;
  // Of the best way.
  PuzzleCost best() const;
  // Of this one, moment by moment. Throws std::logic_error if it is not a way.
  PuzzleCost cost_of(const rack::Schedule& schedule) const;

 private:
  using Switches = std::uint32_t;  // a bit for each that has been thrown
  struct Step {
    Switches before = 0;
    Switches after = 0;
  };
  struct Knob {  // of one node; the same one where they are always thrown together
    Switches window = 0;
    Switches gain = 0;
  };

  bool may_throw(const Step& step) const;
  // Where one switch may stand while the step is in flight: old, new or both.
  static std::vector<unsigned> places(Switches one, const Step& step);
  // Every sum that there may be at that moment.
  std::vector<double> sums(const rack::Powers& powers, const Step& step) const;
  bool surely(const std::vector<std::size_t>& nodes, unsigned place, const Step& step) const;
  bool dark(const rack::Heard& heard, const Step& step) const;
  PuzzleCost cost_of(const Step& step) const;

  const rack::WayProblem& problem_;
  std::vector<Knob> knobs_;
  Switches all_ = 0;
  std::vector<Switches> asked_;  // of each amplifier: the switches that it depends on
  // The loudest of an amplifier, by what has been thrown of those before and after.
  mutable std::vector<std::unordered_map<std::uint64_t, double>> known_;
};

}  // namespace catwalk::test
