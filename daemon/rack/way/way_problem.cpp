// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/way_problem.hpp"

#include <algorithm>
#include <utility>

namespace catwalk::rack {
namespace {

// Which positions of a switch thrown in step `thrown` count while `step` is in flight.
struct Positions {
  std::size_t first = 0;
  std::size_t last = 0;
};
Positions positions(int thrown, int step) {
  return {step <= thrown ? 0U : 1U, step < thrown ? 0U : 1U};
}

void add_movers(const Powers& powers, std::vector<std::size_t>& movers) {
  movers.insert(movers.end(), powers.nodes.begin(), powers.nodes.end());
  for (const auto& fork : powers.forks) {
    movers.push_back(fork.matrix);
    add_movers(fork.before, movers);
    add_movers(fork.after, movers);
  }
}

std::vector<std::size_t> each_once(std::vector<std::size_t> movers) {
  std::ranges::sort(movers);
  const auto twice = std::unique(movers.begin(), movers.end());
  movers.erase(twice, movers.end());
  return movers;
}

}  // namespace

std::vector<std::size_t> movers_of(const Heard& heard) {
  std::vector<std::size_t> movers;
  for (std::size_t number = 0; number < heard.count(); ++number) {
    const auto path = heard.path(number);
    movers.insert(movers.end(), path.not_begun.begin(), path.not_begun.end());
    movers.insert(movers.end(), path.there.begin(), path.there.end());
  }
  return each_once(std::move(movers));
}

std::vector<std::size_t> movers_of(const Powers& powers) {
  std::vector<std::size_t> movers;
  add_movers(powers, movers);
  return each_once(std::move(movers));
}

double before_all(const Powers& powers) {
  return total(
      powers, [](std::size_t, const Loudness& loudness) { return loudness[0][0]; },
      [](std::size_t, double before, double) { return before; });
}

double after_all(const Powers& powers) {
  return total(
      powers, [](std::size_t, const Loudness& loudness) { return loudness[1][1]; },
      [](std::size_t, double, double after) { return after; });
}

double most_of(const Powers& powers) {
  return total(
      powers,
      [](std::size_t, const Loudness& p) {
        return std::max({p[0][0], p[0][1], p[1][0], p[1][1]});
      },
      [](std::size_t, double before, double after) { return std::max(before, after); });
}

double loudest(const Loudness& loudness, const Schedule::Times& times, int step) {
  const auto windows = positions(times.window, step);
  const auto gains = positions(times.gain, step);
  double most = 0.0;
  for (auto window = windows.first; window <= windows.last; ++window)
    for (auto gain = gains.first; gain <= gains.last; ++gain)
      most = std::max(most, loudness[window][gain]);
  return most;
}

double worst_power(const SharedAmplifier& amplifier, const Schedule& schedule, int step) {
  return total(
      amplifier,
      [&](std::size_t node, const Loudness& loudness) {
        return loudest(loudness, schedule.times[node], step);
      },
      [&](std::size_t matrix, double before, double after) {
        const int thrown = schedule.times[matrix].window;
        if (step == thrown) return std::max(before, after);
        return step < thrown ? before : after;
      });
}

Heard::View Heard::path(std::size_t number) const {
  if (number < losers.size()) return {{&losers[number], 1}, {}};
  number -= losers.size();
  if (number < gainers.size()) return {{}, {&gainers[number], 1}};
  const auto& one = paths[number - gainers.size()];
  return {one.not_begun, one.there};
}

bool is_dark(const Heard& heard, const Schedule& schedule, int step) {
  const auto& times = schedule.times;
  const auto not_begun = [&](std::size_t node) { return times[node].window > step; };
  const auto there = [&](std::size_t node) { return times[node].window < step; };
  return std::ranges::none_of(heard.losers, not_begun) &&
         std::ranges::none_of(heard.gainers, there) &&
         std::ranges::none_of(heard.paths, [&](const Path& path) {
           return std::ranges::all_of(path.not_begun, not_begun) &&
                  std::ranges::all_of(path.there, there);
         });
}

Count breaches_of(const SharedAmplifier& amplifier, double power) {
  if (power > amplifier.refuse) return {1, 0};
  if (power > amplifier.caution) return {0, 1};
  return {};
}

Count breaches_of(const WayProblem& problem, const Schedule& schedule) {
  Count all;
  for (int step = 1; step <= schedule.steps; ++step) {
    for (const auto& heard : problem.heard)
      if (is_dark(heard, schedule, step)) all.cautions += heard.weight;
    for (const auto& amplifier : problem.amplifiers)
      all = all + breaches_of(amplifier, worst_power(amplifier, schedule, step));
  }
  return all;
}

}  // namespace catwalk::rack
