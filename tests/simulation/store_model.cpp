// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/store_model.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

#include "daemon/base/overloaded.hpp"
#include "daemon/rack/values/epochs.hpp"

namespace catwalk::simulation {
namespace {

constexpr std::size_t in_the_cache = 3;

void forget_alarm(rack::Restored& state, rack::AlarmId id) {
  std::erase_if(state.alarms, [id](const rack::Alarm& one) { return one.id == id; });
}

void forget_tick(rack::Restored& state, const rack::CrewTick& tick) {
  std::erase_if(state.ticks, [&](const rack::CrewTick& one) { return one.is_of_same_row(tick); });
}

void put(rack::Restored& state, const rack::Write& write) {
  std::visit(Overloaded{
                 [&](const rack::KeepWanted& one) { state.wanted[one.node] = one.wanted; },
                 [&](const rack::KeepUnfinished& one) {
                   std::erase_if(state.unfinished, [&](const rack::Unfinished& old) {
                     return old.change == one.unfinished.change;
                   });
                   state.unfinished.push_back(one.unfinished);
                   std::ranges::sort(state.unfinished, {}, &rack::Unfinished::change);
                 },
                 [&](const rack::ForgetReached&) { state.reached.clear(); },
                 [&](const rack::ForgetWanted& one) { state.wanted.erase(one.node); },
                 [&](const rack::ForgetUnfinished& one) {
                   std::erase_if(state.unfinished, [&](const rack::Unfinished& old) {
                     return old.change == one.change;
                   });
                 },
                 [&](const rack::KeepLock& one) { state.lock = one.lock; },
                 [&](const rack::KeepSegment& one) { state.segment = one.segment; },
                 [&](const rack::KeepEpoch& one) { state.epoch = one.epoch; },
                 [&](const rack::KeepSpoken& one) {
                   const auto nobody_knows = protocol::OurEpochs{protocol::OurEpochs::unknown};
                   if (state.spoken == nobody_knows) state.spoken = {};
                   state.spoken.add(one.epoch);
                 },
                 [&](const rack::KeepAlarm& one) {
                   forget_alarm(state, one.alarm.id);
                   state.alarms.push_back(one.alarm);
                   std::ranges::sort(state.alarms, {}, &rack::Alarm::id);
                   state.last_alarm = std::max(state.last_alarm, one.alarm.id);
                 },
                 [&](const rack::ForgetAlarm& one) { forget_alarm(state, one.alarm); },
                 [&](const rack::KeepSwitch& one) { state.switching = one.unfinished; },
                 [&](const rack::KeepSwitchStep& one) {
                   if (!state.switching) return;
                   state.switching->back = one.back;
                   state.switching->step = one.step;
                   state.switching->ticket = one.ticket;
                 },
                 [&](const rack::KeepSwitchStuck&) {
                   if (state.switching) state.switching->stuck = true;
                 },
                 [&](const rack::ForgetSwitch&) { state.switching.reset(); },
                 [&](const rack::KeepCue& one) { state.cue = one.cue; },
                 [&](const rack::KeepReached& one) { state.reached[one.segment] = one.at; },
                 [&](const rack::KeepTick& one) {
                   forget_tick(state, one.tick);
                   state.ticks.push_back(one.tick);
                   std::ranges::sort(state.ticks, {}, [](const rack::CrewTick& tick) {
                     return std::tie(tick.left, tick.entered, tick.row);
                   });
                 },
                 [&](const rack::ForgetTick& one) { forget_tick(state, one.tick); },
             },
             write);
}

bool is_of_alarm(const rack::Write& write) {
  return std::holds_alternative<rack::KeepAlarm>(write) ||
         std::holds_alternative<rack::ForgetAlarm>(write);
}

}  // namespace

void keep(Kept& kept, const rack::Record& record) {
  for (const auto& entry : record.entries) {
    kept.state.last_change = std::max(kept.state.last_change, entry.change);
    kept.journal.push_back(entry);
  }
  for (const auto& write : record.writes) put(kept.state, write);
}

void StoreModel::keep(rack::Record record, Moment now) {
  waiting_.push_back(std::move(record));
  if (!done_at_) begin(now);
}

// One or two thousandths of a second; now and then a disk takes its time.
void StoreModel::begin(Moment now) {
  batch_ = waiting_.size();
  const auto luck = luck_of(seed_, static_cast<std::uint64_t>(now.time_since_epoch().count()));
  const auto count = static_cast<std::int64_t>(luck >> 32U);
  const auto takes = luck % 50 == 0 ? Micros{5'000 + count % 55'000} : Micros{300 + count % 2'200};
  done_at_ = now + takes + slower_;
}

std::optional<Moment> StoreModel::next_event() const { return done_at_; }

std::vector<StoreModel::Ended> StoreModel::step(Moment now) {
  std::vector<Ended> ended;
  if (!done_at_ || *done_at_ > now) return ended;
  for (; batch_ > 0; --batch_) {
    auto record = std::move(waiting_.front());
    waiting_.pop_front();
    ended.push_back({record.id, !fails_});
    if (!fails_) keep_one(record);
  }
  done_at_.reset();
  if (!waiting_.empty()) begin(now);
  return ended;
}

void StoreModel::keep_one(const rack::Record& record) {
  if (mutation_ == Mutation::lying_store) {
    lied_about_.push_back(record);
    if (lied_about_.size() > in_the_cache) {
      simulation::keep(platter_, lied_about_.front());
      lied_about_.pop_front();
    }
  }
  const bool forgets = mutation_ == Mutation::forgetful_store && mutant_.one_in(20);
  const bool mute = mutation_ == Mutation::silent_alarms;
  if (!forgets && !mute) return simulation::keep(kept_, record);
  auto less = record;
  std::erase_if(less.writes, [&](const rack::Write& write) {
    return mute ? is_of_alarm(write) : std::holds_alternative<rack::KeepWanted>(write);
  });
  if (mute)
    std::erase_if(less.entries, [](const rack::JournalEntry& entry) {
      return entry.kind == rack::JournalKind::alarm;
    });
  simulation::keep(kept_, less);
}

void StoreModel::crash(std::size_t also) {
  for (std::size_t i = 0; i < std::min(also, waiting_.size()) && !fails_; ++i)
    keep_one(waiting_[i]);
  waiting_.clear();
  if (mutation_ == Mutation::lying_store) {
    lied_about_.clear();
    platter_.state.epoch = kept_.state.epoch;
    kept_ = platter_;
  }
  batch_ = 0;
  done_at_.reset();
}

void StoreModel::set_aside() {
  const auto old = std::exchange(kept_, {});
  kept_.state.lock = old.state.lock;
  kept_.state.segment = old.state.segment;
  kept_.state.epoch = old.state.epoch;
  kept_.state.spoken = old.state.spoken;
  kept_.state.last_alarm = old.state.last_alarm;
  kept_.state.last_change = old.state.last_change;
  platter_ = kept_;
}

rack::Restored StoreModel::restore(rack::TimePoint wall) {
  kept_.state.epoch = rack::next_epoch(kept_.state.epoch, wall);
  auto restored = kept_.state;
  auto& last = restored.last_change;  // of the journal, so far
  for (const auto& one : restored.unfinished) last = std::max(last, one.change);
  if (const auto& one = restored.switching) last = std::max({last, one->id, one->ticket});
  return restored;
}

}  // namespace catwalk::simulation
