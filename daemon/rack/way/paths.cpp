// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/paths.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace catwalk::rack {
namespace {

using Movers = std::vector<std::size_t>;

// Of two in order.
Movers all_of(const Movers& some, const Movers& others) {
  Movers all;
  std::ranges::set_union(some, others, std::back_inserter(all));
  return all;
}

bool never_met(const Path& path) {
  Movers both;
  std::ranges::set_intersection(path.not_begun, path.there, std::back_inserter(both));
  return !both.empty();
}

std::size_t conditions(const Path& path) { return path.not_begun.size() + path.there.size(); }

Paths in_order(Paths paths) {
  std::erase_if(paths, never_met);
  std::ranges::sort(paths, [](const Path& a, const Path& b) {
    return std::pair{conditions(a), a} < std::pair{conditions(b), b};
  });
  Paths kept;
  for (auto& path : paths) {
    const bool needless = std::ranges::any_of(kept, [&](const Path& other) {
      return std::ranges::includes(path.not_begun, other.not_begun) &&
             std::ranges::includes(path.there, other.there);
    });
    if (!needless) kept.push_back(std::move(path));
  }
  return kept;
}

// By one and by the other.
Paths both(const Paths& some, const Paths& others) {
  Paths all;
  for (const auto& one : some)
    for (const auto& other : others)
      all.push_back({all_of(one.not_begun, other.not_begun), all_of(one.there, other.there)});
  return in_order(std::move(all));
}

}  // namespace

Paths always() { return {Path{}}; }
Paths never() { return {}; }

Paths either(const Paths& some, const Paths& others) {
  auto all = some;
  all.insert(all.end(), others.begin(), others.end());
  return in_order(std::move(all));
}

Paths switched(std::size_t mover, const Paths& before, const Paths& after) {
  auto all = both(before, after);
  if (all.size() > most_meanwhile) all.resize(most_meanwhile);
  const auto add = [&](const Paths& paths) { all.insert(all.end(), paths.begin(), paths.end()); };
  add(both(before, {Path{{mover}, {}}}));
  add(both(after, {Path{{}, {mover}}}));
  return in_order(std::move(all));
}

std::optional<Heard> heard_by(const Paths& paths, int weight) {
  const auto any = [&](const auto& holds) { return std::ranges::any_of(paths, holds); };
  const bool before = any([](const Path& path) { return path.there.empty(); });
  const bool after = any([](const Path& path) { return path.not_begun.empty(); });
  const bool always = any([](const Path& path) { return conditions(path) == 0; });
  if (!before || !after || always) return std::nullopt;
  Heard all{{}, {}, weight, {}};
  for (const auto& path : paths) {
    if (conditions(path) > 1)
      all.paths.push_back(path);
    else if (path.there.empty())
      all.losers.push_back(path.not_begun.front());
    else
      all.gainers.push_back(path.there.front());
  }
  return all;
}

}  // namespace catwalk::rack
