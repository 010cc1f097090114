// SPDX-License-Identifier: Apache-2.0
#include "tests/support/puzzle_oracle.hpp"

#include <algorithm>
#include <optional>
#include <stdexcept>

namespace catwalk::test {

using rack::Heard;
using rack::Powers;
using rack::Split;
using rack::WayProblem;

namespace {

PuzzleCost operator+(const PuzzleCost& a, const PuzzleCost& b) {
  return {a.refusals + b.refusals, a.cautions + b.cautions, a.steps + b.steps};
}

std::vector<rack::Path> all_paths(const Heard& heard) {
  auto all = heard.paths;
  for (const auto node : heard.losers) all.push_back(rack::Path{{node}, {}});
  for (const auto node : heard.gainers) all.push_back(rack::Path{{}, {node}});
  return all;
}

std::string unsound_powers(const WayProblem& problem, const Powers& powers) {
  if (powers.nodes.size() != powers.loudness.size()) return "a node without loudness";
  for (std::size_t i = 0; i < powers.nodes.size(); ++i)
    for (const auto& by_gain : powers.loudness[i]) {
      const auto split = problem.nodes[powers.nodes[i]].split;
      if (split == Split::gain_first && by_gain[1] > by_gain[0]) return "louder with less gain";
      if (split == Split::window_first && by_gain[0] > by_gain[1]) return "louder with less gain";
    }
  for (const auto& fork : powers.forks) {
    if (problem.nodes[fork.matrix].split != Split::never) return "a matrix that is split";
    for (const auto* part : {&fork.before, &fork.after})
      if (auto wrong = unsound_powers(problem, *part); !wrong.empty()) return wrong;
  }
  return "";
}

}  // namespace

PuzzleOracle::PuzzleOracle(const WayProblem& problem)
    : problem_{problem}, known_(problem.amplifiers.size()) {
  unsigned next = 0;
  for (const auto& node : problem.nodes) {
    Knob knob;
    knob.window = Switches{1} << next++;
    knob.gain = node.split == Split::never ? knob.window : Switches{1} << next++;
    all_ |= knob.window | knob.gain;
    knobs_.push_back(knob);
  }
  const auto add = [&](auto&& self, const Powers& powers, Switches& asked) -> void {
    for (const auto node : powers.nodes) asked |= knobs_[node].window | knobs_[node].gain;
    for (const auto& fork : powers.forks) {
      asked |= knobs_[fork.matrix].window;
      self(self, fork.before, asked);
      self(self, fork.after, asked);
    }
  };
  for (const auto& amplifier : problem.amplifiers) add(add, amplifier, asked_.emplace_back());
}

std::string PuzzleOracle::unsound() const {
  const Step start{0, 0};
  const Step end{all_, all_};
  for (const auto& node : problem_.nodes)
    if (node.must_split && node.split == Split::never) return "must be split, and may not";
  for (const auto& heard : problem_.heard) {
    if (dark(heard, start) || dark(heard, end)) return "dark at an end";
    for (const auto& path : all_paths(heard)) {
      if (path.not_begun.empty() && path.there.empty()) return "a path without conditions";
      for (const auto node : path.there)
        if (std::ranges::count(path.not_begun, node) > 0) return "a path that is never met";
    }
  }
  for (const auto& amplifier : problem_.amplifiers) {
    if (amplifier.refuse < amplifier.caution) return "refused before it is a caution";
    if (auto wrong = unsound_powers(problem_, amplifier); !wrong.empty()) return wrong;
    for (const auto& step : {start, end})
      for (const auto sum : sums(amplifier, step))
        if (sum > amplifier.caution) return "too loud at an end";
  }
  return "";
}

double PuzzleOracle::most_of(const Powers& powers) const {
  const auto any = sums(powers, {0, all_});
  return *std::max_element(any.begin(), any.end());
}

bool PuzzleOracle::may_throw(const Step& step) const {
  for (std::size_t i = 0; i < knobs_.size(); ++i) {
    const auto& node = problem_.nodes[i];
    if (!node.must_split) continue;
    const auto [window, gain] = knobs_[i];
    const auto first = node.split == Split::gain_first ? gain : window;
    const auto second = node.split == Split::gain_first ? window : gain;
    if ((step.after & second) != 0 && (step.before & first) == 0) return false;
  }
  return true;
}

std::vector<unsigned> PuzzleOracle::places(Switches one, const Step& step) {
  if ((step.before & one) != 0) return {1};
  if ((step.after & one) != 0) return {0, 1};
  return {0};
}

std::vector<double> PuzzleOracle::sums(const Powers& powers, const Step& step) const {
  std::vector<double> all{powers.steady};
  const auto add = [&](const std::vector<double>& any) {
    std::vector<double> next;
    for (const double sum : all)
      for (const double one : any) next.push_back(sum + one);
    std::ranges::sort(next);
    const auto twice = std::unique(next.begin(), next.end());
    next.erase(twice, next.end());
    all = std::move(next);
  };
  for (std::size_t i = 0; i < powers.nodes.size(); ++i) {
    std::vector<double> any;
    for (const auto window : places(knobs_[powers.nodes[i]].window, step))
      for (const auto gain : places(knobs_[powers.nodes[i]].gain, step))
        any.push_back(powers.loudness[i][window][gain]);
    add(any);
  }
  for (const auto& fork : powers.forks) {
    std::vector<double> any;
    for (const auto place : places(knobs_[fork.matrix].window, step)) {
      const auto side = sums(place == 0 ? fork.before : fork.after, step);
      any.insert(any.end(), side.begin(), side.end());
    }
    add(any);
  }
  return all;
}

bool PuzzleOracle::surely(const std::vector<std::size_t>& nodes, unsigned place,
                          const Step& step) const {
  for (const auto node : nodes)
    for (const auto possible : places(knobs_[node].window, step))
      if (possible != place) return false;
  return true;
}

bool PuzzleOracle::dark(const Heard& heard, const Step& step) const {
  for (const auto& path : all_paths(heard))
    if (surely(path.not_begun, 0, step) && surely(path.there, 1, step)) return false;
  return true;
}

PuzzleCost PuzzleOracle::cost_of(const Step& step) const {
  PuzzleCost cost{0, 0, 1};
  for (const auto& heard : problem_.heard)
    if (dark(heard, step)) cost.cautions += heard.weight;
  for (std::size_t i = 0; i < problem_.amplifiers.size(); ++i) {
    const auto& amplifier = problem_.amplifiers[i];
    const Step own{step.before & asked_[i], step.after & asked_[i]};
    const auto key = std::uint64_t{own.before} << 32U | own.after;
    auto found = known_[i].find(key);
    if (found == known_[i].end()) {
      const auto any = sums(amplifier, own);
      found = known_[i].emplace(key, *std::max_element(any.begin(), any.end())).first;
    }
    if (found->second > amplifier.refuse)
      ++cost.refusals;
    else if (found->second > amplifier.caution)
      ++cost.cautions;
  }
  return cost;
}

// What a step costs depends on what was thrown before it and on what it throws, and on nothing
// else; so of all ways to the same switches only the cheapest can be part of the best one.
PuzzleCost PuzzleOracle::best() const {
  std::vector<std::optional<PuzzleCost>> reached(all_ + 1U);
  reached[0] = PuzzleCost{};
  for (Switches done = 0; done < all_; ++done) {
    if (!reached[done]) continue;
    const Switches rest = all_ & ~done;
    for (Switches thrown = rest; thrown != 0; thrown = (thrown - 1) & rest) {
      const Step step{done, done | thrown};
      if (!may_throw(step)) continue;
      const auto cost = *reached[done] + cost_of(step);
      auto& place = reached[step.after];
      if (!place || cost < *place) place = cost;
    }
  }
  return reached[all_].value();
}

PuzzleCost PuzzleOracle::cost_of(const rack::Schedule& schedule) const {
  PuzzleCost cost;
  Switches done = 0;
  for (int number = 1; number <= schedule.steps; ++number) {
    Step step{done, done};
    for (std::size_t i = 0; i < knobs_.size(); ++i) {
      const auto& times = schedule.times.at(i);
      if (times.window == number) step.after |= knobs_[i].window;
      if (times.gain == number) step.after |= knobs_[i].gain;
      if (knobs_[i].window == knobs_[i].gain && times.split())
        throw std::logic_error{"one switch thrown twice"};
    }
    if (!may_throw(step)) throw std::logic_error{"not split, and has to be"};
    cost = cost + cost_of(step);
    done = step.after;
  }
  if (done != all_) throw std::logic_error{"not all has moved"};
  return cost;
}

}  // namespace catwalk::test
