// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/way_problem.hpp"

#include <algorithm>

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

}  // namespace

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
  double sum = 0.0;
  for (std::size_t i = 0; i < amplifier.nodes.size(); ++i)
    sum += loudest(amplifier.loudness[i], schedule.times[amplifier.nodes[i]], step);
  return sum;
}

bool is_dark(const Heard& heard, const Schedule& schedule, int step) {
  const auto& times = schedule.times;
  return std::ranges::all_of(heard.losers, [&](auto node) { return times[node].window <= step; }) &&
         std::ranges::all_of(heard.gainers, [&](auto node) { return times[node].window >= step; });
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
