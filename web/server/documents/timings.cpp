// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/timings.hpp"

#include <chrono>
#include <utility>

namespace catwalk::web {
namespace {

double seconds_between(rack::TimePoint begin, rack::TimePoint end) {
  return std::chrono::duration<double>(end - begin).count();
}

}  // namespace

void Durations::add(double seconds) {
  // The wall clock may have been set back in between.
  seconds = std::max(seconds, 0.0);
  for (std::size_t i = 0; i < bounds.size(); ++i)
    if (seconds <= bounds[i]) ++up_to_[i];
  ++count_;
  sum_ += seconds;
}

Timings::Timings(const rack::Snapshot& first) {
  for (const auto& [word, stage] : words_of(rack::ChangeStage{}))
    if (rack::is_fate(stage)) changes_[stage];
  for (const auto& [word, stage] : words_of(rack::SwitchStage{}))
    if (rack::is_end(stage)) switches_[stage];
  count(first, false);
}

void Timings::look(const rack::Snapshot& next) { count(next, true); }

void Timings::count(const rack::Snapshot& next, bool really) {
  if (next.changes != looked_at_) {
    std::set<rack::ChangeId> ended;
    for (const auto& change : *next.changes) {
      if (!change.ended || !rack::is_fate(change.stage)) continue;
      ended.insert(change.id);
      if (really && !ended_.contains(change.id))
        changes_[change.stage].add(seconds_between(change.requested, *change.ended));
    }
    ended_ = std::move(ended);
    looked_at_ = next.changes;
  }
  const auto& last = next.switching;
  if (!last || !last->ended || !rack::is_end(last->stage) || last->id == last_switch_) return;
  last_switch_ = last->id;
  if (really) switches_[last->stage].add(seconds_between(last->requested, *last->ended));
}

}  // namespace catwalk::web
