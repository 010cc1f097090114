// SPDX-License-Identifier: Apache-2.0
// Every window, a matrix's among them, has bounds, the earliest and the latest step. "g before l"
// moves the earliest of l and the latest of g. The windows are tried at their earliest steps. If an
// amplifier is too loud then in some step, the bounds of one of its nodes are parted: after that
// step, before it, in it. Wherever something does not hold and a matrix may still move in several
// steps, it is put into each of these first, since it joins most of the others.
//
// If a receiver is dark: a path brings the carriers from the step after the last that it needs
// there to the step before the first that it needs not begun. So in a clean way the receiver is
// handed on: from a path that needs nobody there to another, and at last to one that needs nobody
// not begun, none of them twice, and each is there before the one before it ends: all whom the next
// needs there are before all whom the last needs not begun. Each of the hand-overs that are
// possible is tried, and of those that begin with it, each next one. Where paths have one condition
// each that is one hand-over, a gainer before a loser.
//
// Every branch that is left out is left out because it holds no way: a search that ends within its
// budget is complete.
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdlib>
#include <limits>
#include <utility>
#include <vector>

#include "daemon/rack/way/clean_search.hpp"

namespace catwalk::rack {
namespace {

class CleanSearch {
 public:
  CleanSearch(const WayProblem& problem, int steps, int budget)
      : problem_{problem}, steps_{steps}, budget_{budget} {
    for (const auto& amplifier : problem.amplifiers) in_amplifier_.push_back(movers_of(amplifier));
  }

  std::optional<Schedule> run() {
    Bounds bounds;
    for (const auto& node : problem_.nodes) {
      bounds.earliest.push_back(node.must_split && node.split == Split::gain_first ? 2 : 1);
      bounds.latest.push_back(node.must_split && node.split == Split::window_first ? steps_ - 1
                                                                                   : steps_);
    }
    return search(std::move(bounds));
  }
  bool complete() const { return budget_ > 0; }
  int left() const { return std::max(budget_, 0); }

 private:
  // Of one receiver, from one of its paths to another.
  struct HandOver {
    std::size_t heard = 0;
    std::size_t from = 0;
    std::size_t to = 0;
  };
  struct Bounds {
    std::vector<int> earliest;
    std::vector<int> latest;
    std::vector<std::pair<std::size_t, std::size_t>> order;  // the first before the second
    std::vector<HandOver> taken;                             // of paths with several conditions
  };

  static bool propagate(Bounds& bounds) {
    for (bool moved = true; moved;) {
      moved = false;
      for (const auto& [before, after] : bounds.order) {
        if (bounds.earliest[after] <= bounds.earliest[before]) {
          bounds.earliest[after] = bounds.earliest[before] + 1;
          moved = true;
        }
        if (bounds.latest[before] >= bounds.latest[after]) {
          bounds.latest[before] = bounds.latest[after] - 1;
          moved = true;
        }
        // Also what ends a circle of orders, which would climb for ever.
        if (bounds.earliest[after] > bounds.latest[after] ||
            bounds.earliest[before] > bounds.latest[before])
          return false;
      }
    }
    for (std::size_t i = 0; i < bounds.earliest.size(); ++i)
      if (bounds.earliest[i] > bounds.latest[i]) return false;
    return true;
  }

  Schedule::Times times_of(std::size_t node, int window) const {
    return times_in(problem_.nodes[node], window, steps_);
  }

  Schedule soonest(const Bounds& bounds) const {
    Schedule schedule{{}, steps_};
    for (std::size_t i = 0; i < bounds.earliest.size(); ++i)
      schedule.times.push_back(times_of(i, bounds.earliest[i]));
    return schedule;
  }

  // Too loud in some step, even if every node did the best that its bounds allow.
  bool hopeless(std::size_t index, const Bounds& bounds) const {
    const auto& amplifier = problem_.amplifiers[index];
    for (int step = 1; step <= steps_; ++step) {
      if (as_before(in_amplifier_[index], bounds, step)) continue;
      // Before, in or after this step: all that matters of when a window moves.
      const double least = total(
          amplifier,
          [&](std::size_t node, const Loudness& loudness) {
            double quietest = std::numeric_limits<double>::infinity();
            for (int window = step - 1; window <= step + 1; ++window)
              if (reaches(bounds, node, window, step))
                quietest = std::min(quietest, loudest(loudness, times_of(node, window), step));
            return quietest;
          },
          [&](std::size_t matrix, double before, double after) {
            const bool may_be_before = reaches(bounds, matrix, step + 1, step);
            const bool may_be_after = reaches(bounds, matrix, step - 1, step);
            if (may_be_before && may_be_after) return std::min(before, after);
            if (may_be_before) return before;
            return may_be_after ? after : std::max(before, after);
          });
      if (!breaches_of(amplifier, least).none()) return true;
    }
    return false;
  }

  // These may be where they may be in the step before.
  bool as_before(const std::vector<std::size_t>& movers, const Bounds& bounds, int step) const {
    if (step <= 2 || step == steps_) return false;
    return std::ranges::none_of(movers, [&](auto mover) {
      const int from = bounds.earliest[mover];
      const int to = bounds.latest[mover];
      return step == from || step == from + 1 || step == to || step == to + 1;
    });
  }

  static bool reaches(const Bounds& bounds, std::size_t node, int window, int step) {
    if (window < step) return bounds.earliest[node] < step;
    if (window > step) return bounds.latest[node] > step;
    return bounds.earliest[node] <= step && step <= bounds.latest[node];
  }

  // With every window at its earliest step.
  bool relieved(const Heard& heard, const Bounds& bounds) const {
    if (!heard.paths.empty()) return relieved_by_paths(heard, bounds);
    int first = steps_ + 1;
    int last = 0;
    for (const auto node : heard.gainers) first = std::min(first, bounds.earliest[node]);
    for (const auto node : heard.losers) last = std::max(last, bounds.earliest[node]);
    return first < last;
  }

  bool relieved_by_paths(const Heard& heard, const Bounds& bounds) const {
    int heard_to = 0;  // in all steps up to this one
    for (bool farther = true; farther && heard_to < steps_;) {
      farther = false;
      for (std::size_t number = 0; number < heard.count(); ++number) {
        const auto path = heard.path(number);
        int from = 1;
        int to = steps_;
        for (const auto node : path.there) from = std::max(from, bounds.earliest[node] + 1);
        for (const auto node : path.not_begun) to = std::min(to, bounds.earliest[node] - 1);
        if (from > heard_to + 1 || to <= heard_to) continue;
        heard_to = to;
        farther = true;
      }
    }
    return heard_to == steps_;
  }

  static bool possible(const Heard::View& from, const Heard::View& to, const Bounds& bounds) {
    return std::ranges::all_of(to.there, [&](auto first) {
      return std::ranges::all_of(from.not_begun, [&](auto then) {
        return first != then && bounds.earliest[first] < bounds.latest[then];
      });
    });
  }

  // What may come next, of the receiver `index`.
  std::vector<HandOver> hand_overs(std::size_t index, const Bounds& bounds) const {
    const auto& heard = problem_.heard[index];
    std::vector<HandOver> found;
    const auto from_path = [&](std::size_t from) {
      for (std::size_t to = 0; to < heard.count(); ++to) {
        if (heard.path(to).there.empty() || is_taken({index, from, to}, bounds)) continue;
        if (possible(heard.path(from), heard.path(to), bounds)) found.push_back({index, from, to});
      }
    };
    const auto last = std::find_if(bounds.taken.rbegin(), bounds.taken.rend(),
                                   [&](const HandOver& taken) { return taken.heard == index; });
    if (last != bounds.taken.rend()) {
      from_path(last->to);
      return found;
    }
    for (std::size_t from = 0; from < heard.count(); ++from)
      if (heard.path(from).there.empty()) from_path(from);
    return found;
  }

  // Its path `to` has had its turn.
  static bool is_taken(const HandOver& next, const Bounds& bounds) {
    return next.to == next.from || std::ranges::any_of(bounds.taken, [&](const HandOver& taken) {
             return taken.heard == next.heard && (taken.from == next.to || taken.to == next.to);
           });
  }

  Bounds with(const HandOver& next, Bounds bounds) const {
    const auto& heard = problem_.heard[next.heard];
    for (const auto first : heard.path(next.to).there)
      for (const auto then : heard.path(next.from).not_begun)
        bounds.order.emplace_back(first, then);
    if (!heard.paths.empty()) bounds.taken.push_back(next);
    return bounds;
  }

  // `wider`: the bounds that these are part of, if any, which were not hopeless.
  std::optional<Schedule> search(Bounds bounds, const Bounds* wider = nullptr) {
    if (!propagate(bounds) || --budget_ <= 0) return std::nullopt;
    if (hopeless(bounds, wider)) return std::nullopt;
    // The receiver with the fewest ways out first.
    std::optional<std::vector<HandOver>> fewest;
    for (std::size_t i = 0; i < problem_.heard.size(); ++i) {
      if (relieved(problem_.heard[i], bounds)) continue;
      auto ways_out = hand_overs(i, bounds);
      if (!fewest || ways_out.size() < fewest->size()) fewest = std::move(ways_out);
      if (fewest->size() <= 1) break;
    }
    if (fewest && fewest->empty()) return std::nullopt;
    auto schedule = soonest(bounds);
    const auto loud = fewest ? std::nullopt : too_loud(schedule);
    if (!fewest && !loud) return schedule;
    if (const auto matrix = undecided_matrix(bounds)) return decide(*matrix, bounds);
    return fewest ? hand_over(std::move(*fewest), bounds)
                  : move_one(*loud, std::move(schedule), bounds);
  }

  bool hopeless(const Bounds& bounds, const Bounds* wider) const {
    const auto moved = [&](const std::vector<std::size_t>& movers) {
      return wider == nullptr || std::ranges::any_of(movers, [&](auto mover) {
               return bounds.earliest[mover] != wider->earliest[mover] ||
                      bounds.latest[mover] != wider->latest[mover];
             });
    };
    for (std::size_t i = 0; i < problem_.amplifiers.size(); ++i)
      if (moved(in_amplifier_[i]) && hopeless(i, bounds)) return true;
    for (const auto& heard : problem_.heard)
      if (!heard.paths.empty() && dark_somewhere(heard, bounds)) return true;
    return false;
  }

  // In some step no path can bring the carriers.
  bool dark_somewhere(const Heard& heard, const Bounds& bounds) const {
    int heard_to = 0;  // in all steps up to this one it may be
    for (bool farther = true; farther && heard_to < steps_;) {
      farther = false;
      for (std::size_t number = 0; number < heard.count(); ++number) {
        const auto path = heard.path(number);
        int from = 1;
        int to = steps_;
        for (const auto node : path.there) from = std::max(from, bounds.earliest[node] + 1);
        for (const auto node : path.not_begun) to = std::min(to, bounds.latest[node] - 1);
        if (from > heard_to + 1 || to <= heard_to) continue;
        heard_to = to;
        farther = true;
      }
    }
    return heard_to < steps_;
  }

  std::optional<std::size_t> undecided_matrix(const Bounds& bounds) const {
    for (std::size_t i = 0; i < problem_.nodes.size(); ++i)
      if (problem_.nodes[i].matrix && bounds.earliest[i] < bounds.latest[i]) return i;
    return std::nullopt;
  }

  // A matrix joins most of what moves, so its step comes first; in the middle there is most room.
  std::optional<Schedule> decide(std::size_t matrix, const Bounds& bounds) {
    std::vector<int> windows;
    for (int window = bounds.earliest[matrix]; window <= bounds.latest[matrix]; ++window)
      windows.push_back(window);
    std::ranges::stable_sort(windows, {},
                             [&](int window) { return std::abs(2 * window - (steps_ + 1)); });
    for (const int window : windows) {
      auto next = bounds;
      next.earliest[matrix] = next.latest[matrix] = window;
      if (auto found = search(std::move(next), &bounds)) return found;
      if (budget_ <= 0) break;
    }
    return std::nullopt;
  }

  std::optional<Schedule> hand_over(std::vector<HandOver> ways_out, const Bounds& bounds) {
    // First what puts off least.
    std::ranges::sort(ways_out, {}, [&](const HandOver& next) {
      const auto& heard = problem_.heard[next.heard];
      int there = 0;
      int begins = steps_ + 1;
      for (const auto node : heard.path(next.to).there)
        there = std::max(there, bounds.earliest[node]);
      for (const auto node : heard.path(next.from).not_begun)
        begins = std::min(begins, bounds.earliest[node]);
      return there - begins;
    });
    for (const auto& next : ways_out) {
      if (auto found = search(with(next, bounds), &bounds)) return found;
      if (budget_ <= 0) break;
    }
    return std::nullopt;
  }

  struct Loud {
    std::size_t amplifier = 0;
    int step = 0;
  };
  // Where nothing of an amplifier moves, it is as in the step before, or as at the old end.
  std::optional<Loud> too_loud(const Schedule& schedule) const {
    for (std::size_t i = 0; i < problem_.amplifiers.size(); ++i)
      for (const auto mover : in_amplifier_[i])
        for (const int step : {schedule.times[mover].window, schedule.times[mover].gain}) {
          const auto& amplifier = problem_.amplifiers[i];
          if (!breaches_of(amplifier, worst_power(amplifier, schedule, step)).none())
            return Loud{i, step};
        }
    return std::nullopt;
  }

  using Part = std::pair<int, int>;  // of the steps of a window, from, to

  // What a window may be to a step: after it, before it, in it. That where it is now, last.
  std::vector<Part> parts_of(std::size_t node, int step, const Bounds& bounds) const {
    const int from = bounds.earliest[node];
    const int to = bounds.latest[node];
    std::vector<Part> parts;
    for (const auto& [low, high] : {Part{step + 1, steps_}, Part{1, step - 1}, Part{step, step}})
      if (std::max(low, from) <= std::min(high, to))
        parts.emplace_back(std::max(low, from), std::min(high, to));
    std::ranges::stable_sort(parts, {}, [&](const Part& part) { return part.first == from; });
    return parts;
  }

  // The one that helps most where it may be elsewhere, and then there.
  std::optional<Schedule> move_one(const Loud& loud, Schedule schedule, const Bounds& bounds) {
    const auto& amplifier = problem_.amplifiers[loud.amplifier];
    double least = std::numeric_limits<double>::infinity();
    std::size_t best = 0;
    for (const auto node : in_amplifier_[loud.amplifier]) {
      const auto parts = parts_of(node, loud.step, bounds);
      const auto now = schedule.times[node];
      for (std::size_t i = 0; i + 1 < parts.size(); ++i) {
        schedule.times[node] = times_of(node, parts[i].first);
        const double power = worst_power(amplifier, schedule, loud.step);
        if (power >= least) continue;
        least = power;
        best = node;
      }
      schedule.times[node] = now;
    }
    if (!std::isfinite(least)) return std::nullopt;
    for (const auto& [low, high] : parts_of(best, loud.step, bounds)) {
      auto next = bounds;
      next.earliest[best] = low;
      next.latest[best] = high;
      if (auto found = search(std::move(next), &bounds)) return found;
      if (budget_ <= 0) break;
    }
    return std::nullopt;
  }

  const WayProblem& problem_;
  int steps_;
  int budget_;
  std::vector<std::vector<std::size_t>> in_amplifier_;  // of each, who moves
};

}  // namespace

Schedule::Times times_in(const WayProblem::Node& node, int window, int steps) {
  if (node.split == Split::gain_first) return {window, 1};
  if (node.split == Split::window_first) return {window, steps};
  return {window, window};
}

CleanWay search_clean(const WayProblem& problem, int steps, int branches) {
  CleanSearch search{problem, steps, branches};
  auto schedule = search.run();
  return {std::move(schedule), search.complete(), search.left()};
}

}  // namespace catwalk::rack
