// SPDX-License-Identifier: Apache-2.0
#pragma once
// How long changes and switches took, from when they were asked for to their end, since the start:
// told by snapshots alone. For one thread.

#include <array>
#include <cstdint>
#include <map>
#include <set>

#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::web {

class Durations {
 public:
  // Seconds, the highest that still belongs to each.
  static constexpr std::array bounds{0.01, 0.025, 0.05, 0.1,  0.25, 0.5,   1.0,
                                     2.5,  5.0,   10.0, 30.0, 60.0, 120.0, 300.0};
  void add(double seconds);
  // Of those of at most so many seconds: bounds[i].
  std::uint64_t up_to(std::size_t i) const { return up_to_[i]; }
  std::uint64_t count() const { return count_; }
  double sum() const { return sum_; }

 private:
  std::array<std::uint64_t, bounds.size()> up_to_{};
  std::uint64_t count_ = 0;
  double sum_ = 0;
};

class Timings {
 public:
  // What had ended by then is of the time before.
  explicit Timings(const rack::Snapshot& first);

  // A list of changes is longer than those that can end between two looks.
  void look(const rack::Snapshot& next);

  // Every fate, and every end.
  const std::map<rack::ChangeStage, Durations>& changes() const { return changes_; }
  const std::map<rack::SwitchStage, Durations>& switches() const { return switches_; }

 private:
  void count(const rack::Snapshot& next, bool really);

  std::map<rack::ChangeStage, Durations> changes_;
  std::map<rack::SwitchStage, Durations> switches_;
  std::shared_ptr<const std::vector<rack::ChangeView>> looked_at_;
  std::set<rack::ChangeId> ended_;  // of that list
  rack::ChangeId last_switch_ = 0;  // that has ended
};

}  // namespace catwalk::web
