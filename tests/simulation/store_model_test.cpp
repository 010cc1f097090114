// SPDX-License-Identifier: Apache-2.0
// The model of the store against the real one: after the same records both give the next run the
// same.
#include "tests/simulation/store_model.hpp"

#include <doctest/doctest.h>
#include <sqlite3.h>

#include "daemon/store/journal.hpp"
#include "daemon/store/open_store.hpp"
#include "tests/support/process.hpp"

using namespace catwalk;
using namespace catwalk::simulation;

namespace {

protocol::NodeUid uid(std::uint64_t bits) { return protocol::NodeUid::from_bits(bits); }

plan::Settings some_settings(Random& random) {
  return {rf::Gain::decibels(random.any(-12, 27)), static_cast<std::uint8_t>(random.any(0, 2)),
          rf::Frequency::megahertz(random.any(470, 700)), random.one_in(2),
          random.one_in(2) ? "mic" : ""};
}

rack::TimePoint some_time(Random& random) {
  return VirtualClock::first_evening + Micros{random.any(0, 1'000'000'000)};
}

rack::UnfinishedSwitch some_switch(Random& random) {
  rack::UnfinishedSwitch one;
  one.id = random.below(40);
  one.left = "speeches";
  one.entered = "finale";
  one.cue = random.one_in(2) ? "end" : "";
  one.who = "ana";
  if (random.one_in(2)) one.waiver = rack::Waiver{"ana", "heard at the rehearsal"};
  for (auto left = random.below(4); left > 0; --left)
    one.nodes.push_back({uid(left), some_settings(random), some_settings(random)});
  return one;
}

rack::CrewTick some_tick(Random& random) {
  return {random.one_in(2) ? "speeches" : "doors",
          "finale",
          random.one_in(2) ? "voice-1.off" : "voice-1.move",
          "before: voice-1 off",
          {random.one_in(2) ? "ana" : "bo", some_time(random)}};
}

rack::Write some_write(Random& random) {
  switch (random.below(19)) {
    case 0:
      return rack::KeepWanted{uid(random.below(4)), {some_settings(random), random.below(9)}};
    case 1:
      return rack::KeepUnfinished{
          {random.below(40), uid(random.below(4)), some_settings(random), some_settings(random)}};
    case 2:
      return rack::ForgetUnfinished{random.below(40)};
    case 3:
      if (random.one_in(2)) return rack::KeepLock{};
      return rack::KeepLock{rack::Lock{"bo", "the show", some_time(random)}};
    case 4:
      return rack::KeepSegment{random.one_in(2) ? "speeches" : "finale"};
    case 5:
      return rack::KeepEpoch{{static_cast<std::uint32_t>(random.below(1000))}};
    case 6: {
      rack::Alarm alarm{random.below(12),
                        rack::AlarmKind::drifted,
                        "n0",
                        "It drifts.",
                        some_time(random),
                        {},
                        {}};
      if (random.one_in(2)) alarm.returned = some_time(random);
      if (random.one_in(2)) alarm.acknowledged_by = "bo";
      if (random.one_in(2)) alarm.shelved = rack::Shelving{"bo", "it is known", some_time(random)};
      return rack::KeepAlarm{alarm};
    }
    case 7:
      return rack::ForgetAlarm{random.below(12)};
    case 8:
      return rack::KeepSwitch{some_switch(random)};
    case 9:
      return rack::KeepSwitchStep{random.one_in(2), static_cast<std::uint32_t>(random.below(5)),
                                  random.below(50)};
    case 10:
      return rack::ForgetSwitch{};
    case 11:
      return rack::KeepCue{random.one_in(2) ? "" : "opening"};
    case 12:
      return rack::KeepTick{some_tick(random)};
    case 13:
      return rack::ForgetTick{some_tick(random)};
    case 14:
      return rack::ForgetWanted{uid(random.below(4))};
    case 15:
      return rack::ForgetReached{};
    case 16:
      return rack::KeepSpoken{{static_cast<std::uint32_t>(random.below(20))}};
    case 17:
      return rack::KeepSwitchStuck{};
    default:
      return rack::KeepReached{random.one_in(2) ? "speeches" : "finale", some_time(random)};
  }
}

rack::Record some_record(Random& random, rack::RecordId id) {
  rack::Record record{id, {}, {}};
  for (auto left = random.below(3); left > 0; --left) {
    rack::JournalEntry entry;
    entry.at = some_time(random);
    entry.kind = rack::JournalKind::fate;
    entry.change = random.below(40);
    record.entries.push_back(std::move(entry));
  }
  for (auto left = random.below(4); left > 0; --left) record.writes.push_back(some_write(random));
  return record;
}

void check_same(const rack::Restored& model, const rack::Restored& real) {
  CHECK(model.wanted == real.wanted);
  CHECK(model.unfinished == real.unfinished);
  CHECK(model.lock == real.lock);
  CHECK(model.segment == real.segment);
  CHECK(model.epoch == real.epoch);
  CHECK(model.spoken == real.spoken);
  CHECK(model.last_change == real.last_change);
  CHECK(model.alarms == real.alarms);
  CHECK(model.last_alarm == real.last_alarm);
  CHECK(model.switching == real.switching);
  CHECK(model.cue == real.cue);
  CHECK(model.reached == real.reached);
  CHECK(model.ticks == real.ticks);
}

}  // namespace

TEST_CASE("after the same records the model of the store and the real one give the same") {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    CAPTURE(seed);
    Random random{seed, "records"};
    const test::TemporaryFolder folder;
    StoreModel model{seed};
    const auto wall = VirtualClock::first_evening;
    Moment now = VirtualClock::start;
    rack::RecordId last = 0;
    // Three runs of the daemon, each with a few transactions.
    for (int run = 0; run < 3; ++run) {
      auto real = store::Journal::open(folder.path() / "journal.db");
      REQUIRE(real);
      const auto restored = real.value().restore(wall);
      REQUIRE(restored);
      check_same(model.restore(wall), *restored);
      for (auto left = random.below(12); left > 0; --left) {
        const auto record = some_record(random, ++last);
        REQUIRE_FALSE(real.value().keep(std::span{&record, 1}));
        model.keep(record, now);
        now = model.next_event().value();
        const auto ended = model.step(now);
        REQUIRE(ended.size() == 1);
        CHECK(ended[0].kept);
      }
      model.crash(0);
    }
  }
}

TEST_CASE("a journal that is set aside leaves the model what it leaves the real store") {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    Random random{seed, "records"};
    const test::TemporaryFolder folder;
    const auto file = folder.path() / "journal.db";
    StoreModel model{seed};
    const auto wall = VirtualClock::first_evening;
    Moment now = VirtualClock::start;
    {
      auto real = store::Journal::open(file);
      REQUIRE(real);
      check_same(model.restore(wall), *real.value().restore(wall));
      for (rack::RecordId id = 1; id <= 8; ++id) {
        const auto record = some_record(random, id);
        REQUIRE_FALSE(real.value().keep(std::span{&record, 1}));
        model.keep(record, now);
        now = model.next_event().value();
        model.step(now);
      }
    }
    sqlite3* raw = nullptr;
    REQUIRE(sqlite3_open(file.c_str(), &raw) == SQLITE_OK);
    REQUIRE(sqlite3_exec(raw, "DROP TABLE wanted", nullptr, nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(raw);
    model.set_aside();
    const auto real = store::open_store(file, wall);
    REQUIRE(real);
    CHECK_FALSE(real->set_aside.empty());
    check_same(model.restore(wall), real->restored);
  }
}

TEST_CASE(
    "records become durable in order, and a crash keeps as many of those that wait as it says") {
  Random random{1, "records"};
  StoreModel model{1};
  const Moment now = VirtualClock::start;
  for (rack::RecordId id = 1; id <= 4; ++id)
    model.keep({id, {}, {rack::KeepSegment{"segment " + std::to_string(id)}}}, now);
  CHECK(model.kept().state.segment.empty());
  // The first alone, since it did not wait; the others together.
  const auto first = model.step(model.next_event().value());
  REQUIRE(first.size() == 1);
  CHECK(model.kept().state.segment == "segment 1");
  model.crash(2);
  CHECK(model.kept().state.segment == "segment 3");
  CHECK(model.idle());
}

TEST_CASE("a disk that fails keeps nothing, and says so") {
  StoreModel model{1};
  model.set_disk(true, Micros{0});
  model.keep({1, {}, {rack::KeepSegment{"finale"}}}, VirtualClock::start);
  const auto ended = model.step(model.next_event().value());
  REQUIRE(ended.size() == 1);
  CHECK_FALSE(ended[0].kept);
  model.crash(5);
  CHECK(model.kept().state.segment.empty());
}
