// SPDX-License-Identifier: Apache-2.0
#pragma once
// The store as the core knows it, in virtual time: records are kept in the
// order they come, those that wait together become durable together, each after
// a while. What a crash leaves is what was durable.
// tests/simulation/store_model_test.cpp holds it against the real store.

#include <deque>
#include <optional>
#include <vector>

#include "daemon/rack/core/effect.hpp"
#include "tests/simulation/mutation.hpp"
#include "tests/simulation/random.hpp"
#include "tests/simulation/virtual_clock.hpp"

namespace catwalk::simulation {

// What is on the disk.
struct Kept {
  // As it would be restored, but for the epoch of the next run; last_change: in
  // the journal.
  rack::Restored state;
  std::vector<rack::JournalEntry> journal;
};
void keep(Kept& kept, const rack::Record& record);

class StoreModel {
 public:
  explicit StoreModel(std::uint64_t seed, Mutation mutation = Mutation::none)
      : seed_{seed}, mutant_{seed, "disk"}, mutation_{mutation} {}

  void keep(rack::Record record, Moment now);
  std::optional<Moment> next_event() const;
  struct Ended {
    rack::RecordId id = 0;
    bool kept = false;
  };
  std::vector<Ended> step(Moment now);

  // From now on: whether writing fails, and what it takes longer than usual.
  void set_disk(bool fails, Micros slower) {
    fails_ = fails;
    slower_ = slower;
  }
  bool fails() const { return fails_; }

  // The daemon is gone. The first `also` of the records that wait have become
  // durable all the same.
  void crash(std::size_t also);
  // The journal is broken, and set aside: what the real store takes over is left.
  void set_aside();
  // For the next run: what was kept, under a new epoch, which is durable at
  // once.
  rack::Restored restore(rack::TimePoint wall);

  const Kept& kept() const { return kept_; }
  // Nothing waits.
  bool idle() const { return waiting_.empty(); }

 private:
  void keep_one(const rack::Record& record);
  void begin(Moment now);

  std::uint64_t seed_;
  Random mutant_;
  Mutation mutation_;
  Kept kept_;
  std::deque<rack::Record> waiting_;     // the batch that is being written first
  Kept platter_;                         // what a liar has in truth: all but the last few
  std::deque<rack::Record> lied_about_;  // those
  std::size_t batch_ = 0;
  std::optional<Moment> done_at_;
  bool fails_ = false;
  Micros slower_{0};
};

}  // namespace catwalk::simulation
