// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/journal.hpp"

#include <algorithm>
#include <atomic>
#include <fstream>
#include <functional>
#include <optional>
#include <thread>

#include "daemon/store/tables.hpp"
#include "tests/support/no_room.hpp"
#include "tests/support/store_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

struct JournalBench {
  TemporaryFolder folder;
  std::filesystem::path file = folder.path() / "journal.sqlite";
};

std::vector<std::uint64_t> sequences(const std::filesystem::path& file,
                                     const rack::JournalQuery& query) {
  std::vector<std::uint64_t> numbers;
  for (const auto& row : rows_of(file, query)) numbers.push_back(row.sequence);
  return numbers;
}
using Numbers = std::vector<std::uint64_t>;

rack::JournalQuery query(const std::function<void(rack::JournalQuery&)>& narrow) {
  rack::JournalQuery made;
  narrow(made);
  return made;
}

// Three rows on disk and the file closed again.
void write_three(const std::filesystem::path& file) {
  auto journal = open_journal(file);
  for (int i = 1; i <= 3; ++i) {
    const std::vector<rack::Record> one{{static_cast<rack::RecordId>(i), {entry_no(i)}, {}}};
    REQUIRE_FALSE(journal.keep(one));
  }
}

plan::Settings odd_settings() {
  return {rf::Gain::centidecibels(-1'250), 7, rf::Frequency::hertz(4'294'967'295), false,
          "vöx \"1\""};
}

}  // namespace

TEST_CASE("an empty journal gives an empty rack, and epoch one") {
  JournalBench bench;
  auto journal = open_journal(bench.file);
  const auto restored = journal.restore();
  REQUIRE(restored);
  CHECK(restored->wanted.empty());
  CHECK(restored->unfinished.empty());
  CHECK_FALSE(restored->lock);
  CHECK(restored->segment.empty());
  CHECK(restored->epoch == protocol::Epoch{1});
  CHECK(restored->last_change == 0);
  CHECK(sequences(bench.file, {}).empty());
}

TEST_CASE("everything that was kept comes back after the file is opened again") {
  JournalBench bench;
  const auto left = protocol::NodeUid{0xFFFE, 0xFFFF'FFFF};
  const rack::Wanted wanted{odd_settings(), 9'000'000'000};
  const rack::Unfinished unfinished{41, left, slide_at(3, 518), odd_settings()};
  const rack::Lock lock{"Ana", "doors", entry_no(5).at};
  {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> records{
        {1, {entry_no(1), entry_no(2)}, {rack::KeepWanted{left, wanted}}},
        {2,
         {},
         {rack::KeepWanted{uid(2), {slide_at(1, 500), 1}}, rack::KeepUnfinished{unfinished}}},
        {3, {entry_no(3)}, {rack::KeepLock{lock}, rack::KeepSegment{"finale"}}},
        {4, {}, {rack::KeepEpoch{{70'000}}}}};
    REQUIRE_FALSE(journal.keep(records));
  }
  auto journal = open_journal(bench.file);
  const auto restored = journal.restore();
  REQUIRE(restored);
  CHECK(restored->wanted ==
        std::map<protocol::NodeUid, rack::Wanted>{{left, wanted}, {uid(2), {slide_at(1, 500), 1}}});
  CHECK(restored->unfinished == std::vector{unfinished});
  CHECK(restored->lock == lock);
  CHECK(restored->segment == "finale");
  CHECK(restored->epoch == protocol::Epoch{70'001});
  CHECK(restored->last_change == 41);
  const auto rows = rows_of(bench.file);
  REQUIRE(rows.size() == 3);
  CHECK(rows[0].entry == entry_no(3));
  CHECK(rows[2].entry == entry_no(1));
}

TEST_CASE("alarms that are not over outlive the program, and no number is used twice") {
  JournalBench bench;
  rack::Alarm drifted{4, rack::AlarmKind::drifted, "left", "left shows +3 dB.", entry_no(1).at, {},
                      {}};
  rack::Alarm failed{5, rack::AlarmKind::change_failed, "right", "No answer.", entry_no(2).at, {},
                     {}};
  {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> raised{
        {1, {}, {rack::KeepAlarm{drifted}, rack::KeepAlarm{failed}}}};
    REQUIRE_FALSE(journal.keep(raised));
    drifted.returned = entry_no(3).at;
    failed.acknowledged_by = "Ana";
    const std::vector<rack::Record> later{
        {2, {}, {rack::KeepAlarm{drifted}, rack::ForgetAlarm{failed.id}}}};
    REQUIRE_FALSE(journal.keep(later));
  }
  auto journal = open_journal(bench.file);
  const auto restored = journal.restore();
  REQUIRE(restored);
  CHECK(restored->alarms == std::vector{drifted});
  CHECK(restored->last_alarm == 5);
}

TEST_CASE("a switch that was under way is handed back as far as it came, until it is forgotten") {
  JournalBench bench;
  rack::UnfinishedSwitch one{
      17,
      "speeches",
      "finale",
      "last",
      "Ana",
      "cue",
      rack::Waiver{"Ben", "rehearsed"},
      false,
      0,
      0,
      {{uid(2), slide_at(1, 500), slide_at(2, 600)}, {uid(1), slide_at(3, 510), slide_at(4, 610)}}};
  const auto reached_at = entry_no(1).at;
  {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> records{
        {1, {}, {rack::KeepSwitch{one}, rack::KeepCue{"doors"}}},
        {2, {}, {rack::KeepSwitchStep{true, 3, 21}, rack::KeepReached{"speeches", reached_at}}}};
    REQUIRE_FALSE(journal.keep(records));
  }
  one.back = true;
  one.step = 3;
  one.ticket = 21;
  {
    auto journal = open_journal(bench.file);
    const auto restored = journal.restore();
    REQUIRE(restored);
    CHECK(restored->switching == one);
    CHECK(restored->cue == "doors");
    CHECK(restored->reached == std::map<std::string, rack::TimePoint>{{"speeches", reached_at}});
    CHECK(restored->last_change == 21);  // a ticket's number is not used again either
    const std::vector<rack::Record> stuck{{3, {}, {rack::KeepSwitchStuck{}}}};
    REQUIRE_FALSE(journal.keep(stuck));
  }
  one.stuck = true;
  {
    auto journal = open_journal(bench.file);
    CHECK(journal.restore()->switching == one);
    const std::vector<rack::Record> ended{{4, {}, {rack::ForgetSwitch{}}}};
    REQUIRE_FALSE(journal.keep(ended));
  }
  auto journal = open_journal(bench.file);
  CHECK_FALSE(journal.restore()->switching);
}

TEST_CASE("a journal of an earlier format is brought up to date and keeps its rows") {
  JournalBench bench;
  {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> records{{1, {entry_no(1)}, {}}};
    REQUIRE_FALSE(journal.keep(records));
  }
  REQUIRE(
      by_hand(
          bench.file,
          without_matrices +
              "DROP TABLE switching; DROP TABLE switching_nodes; DROP TABLE reached;"
              "DROP TABLE alarms; DROP TABLE ticks; DROP TABLE spoken; DROP INDEX journal_by_time;"
              "PRAGMA user_version = 1;") == "");
  auto journal = open_journal(bench.file);
  REQUIRE(journal.restore());
  CHECK(rows_of(bench.file).size() == 1);
  const std::vector<rack::Record> later{{2, {}, {rack::KeepSwitch{}, rack::ForgetAlarm{1}}}};
  CHECK_FALSE(journal.keep(later));
}

TEST_CASE("a journal of before alarms could be shelved keeps its alarms, and none is shelved") {
  JournalBench bench;
  rack::Alarm drifted{
      4, rack::AlarmKind::drifted, "left", "left shows +3 dB.", entry_no(1).at, {}, "Ana"};
  {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> records{{1, {entry_no(1)}, {rack::KeepAlarm{drifted}}}};
    REQUIRE_FALSE(journal.keep(records));
  }
  // As format 3 had it.
  REQUIRE(
      by_hand(
          bench.file,
          without_matrices +
              "ALTER TABLE alarms DROP COLUMN shelved; ALTER TABLE alarms DROP COLUMN shelved_by;"
              "ALTER TABLE alarms DROP COLUMN shelved_why;"
              "ALTER TABLE alarms DROP COLUMN shelved_until_us;"
              "ALTER TABLE switching DROP COLUMN restores; ALTER TABLE switching DROP COLUMN stuck;"
              "ALTER TABLE switching_nodes DROP COLUMN left_out;"
              "DROP TABLE ticks; DROP TABLE spoken; DROP INDEX journal_by_time; PRAGMA "
              "user_version = 3;") == "");
  {
    auto journal = open_journal(bench.file);
    const auto restored = journal.restore();
    REQUIRE(restored);
    CHECK(restored->alarms == std::vector{drifted});
    CHECK(rows_of(bench.file).size() == 1);
    drifted.shelved = rack::Shelving{"bo", "the mast moves", entry_no(2).at};
    const std::vector<rack::Record> later{{2, {}, {rack::KeepAlarm{drifted}}}};
    REQUIRE_FALSE(journal.keep(later));
  }
  CHECK(open_journal(bench.file).restore()->alarms == std::vector{drifted});
  CHECK_FALSE(first_broken(bench.file));
}

TEST_CASE("a shelved alarm outlives the program with its end, its reason and its name") {
  JournalBench bench;
  rack::Alarm silent{
      7, rack::AlarmKind::silent, "left", "left does not answer.", entry_no(1).at, {}, {}};
  silent.shelved = rack::Shelving{"Ana \"A\"", "it's on the other mast; 80 m", entry_no(9).at};
  {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> records{{1, {}, {rack::KeepAlarm{silent}}}};
    REQUIRE_FALSE(journal.keep(records));
  }
  {
    auto journal = open_journal(bench.file);
    CHECK(journal.restore()->alarms == std::vector{silent});
    silent.shelved.reset();
    const std::vector<rack::Record> ended{{2, {}, {rack::KeepAlarm{silent}}}};
    REQUIRE_FALSE(journal.keep(ended));
  }
  CHECK(open_journal(bench.file).restore()->alarms == std::vector{silent});
}

TEST_CASE(
    "ticks of crew sheets outlive the program, the last one of a row, until it is forgotten") {
  JournalBench bench;
  const rack::CrewTick first{
      "speeches", "finale", "ears-1.off", "before: ears-1 off", {"Ana", entry_no(1).at}};
  auto again = first;
  again.ticked = {"Ben \"B\"", entry_no(2).at};
  auto other = first;
  other.left = "doors";
  {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> records{
        {1, {}, {rack::KeepTick{first}, rack::KeepTick{other}, rack::KeepTick{again}}}};
    REQUIRE_FALSE(journal.keep(records));
  }
  {
    auto journal = open_journal(bench.file);
    CHECK(journal.restore()->ticks == std::vector{other, again});
    const std::vector<rack::Record> gone{{2, {}, {rack::ForgetTick{first}}}};
    REQUIRE_FALSE(journal.keep(gone));
  }
  CHECK(open_journal(bench.file).restore()->ticks == std::vector{other});
}

TEST_CASE("a journal of before crew sheets is brought up to date, and nothing is ticked") {
  JournalBench bench;
  REQUIRE_FALSE(open_journal(bench.file).keep(std::vector<rack::Record>{{1, {entry_no(1)}, {}}}));
  REQUIRE(
      by_hand(bench.file,
              without_matrices +
                  "DROP TABLE ticks; DROP TABLE spoken; ALTER TABLE switching DROP COLUMN stuck;"
                  "PRAGMA user_version = 5;") == "");
  auto journal = open_journal(bench.file);
  REQUIRE(journal.restore());
  CHECK(journal.restore()->ticks.empty());
  CHECK(rows_of(bench.file).size() == 1);
}

TEST_CASE("a switch of before stuck ones were kept is one that was stopped, and goes on") {
  JournalBench bench;
  rack::UnfinishedSwitch one;
  one.id = 9;
  one.left = "speeches";
  one.entered = "finale";
  REQUIRE_FALSE(
      open_journal(bench.file).keep(std::vector<rack::Record>{{1, {}, {rack::KeepSwitch{one}}}}));
  REQUIRE(by_hand(bench.file,
                  without_matrices +
                      "ALTER TABLE switching DROP COLUMN stuck; PRAGMA user_version = 6;") == "");
  auto journal = open_journal(bench.file);
  CHECK(journal.restore()->switching == one);
}

TEST_CASE("what is overwritten or forgotten stays so") {
  JournalBench bench;
  auto intent = entry_no(1);
  intent.change = 7;
  {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> records{
        {1,
         {intent},
         {rack::KeepWanted{uid(1), {slide_at(1, 500), 1}},
          rack::KeepUnfinished{{7, uid(1), slide_at(1, 500), slide_at(2, 500)}},
          rack::KeepLock{rack::Lock{"Ana", "", {}}}, rack::KeepSegment{"speeches"}}},
        {2,
         {},
         {rack::KeepWanted{uid(1), {slide_at(2, 500), 2}}, rack::ForgetUnfinished{7},
          rack::KeepLock{}, rack::KeepSegment{"finale"}}}};
    REQUIRE_FALSE(journal.keep(records));
  }
  auto journal = open_journal(bench.file);
  const auto restored = journal.restore();
  REQUIRE(restored);
  CHECK(restored->wanted.at(uid(1)) == rack::Wanted{slide_at(2, 500), 2});
  CHECK(restored->unfinished.empty());
  CHECK_FALSE(restored->lock);
  CHECK(restored->segment == "finale");
  // A change's number is never used again, even if nothing of it is left to finish.
  CHECK(restored->last_change == 7);
}

TEST_CASE("the epoch grows at every restore, whatever else happens") {
  JournalBench bench;
  std::uint32_t last = 0;
  for (int run = 0; run < 4; ++run) {
    auto journal = open_journal(bench.file);
    const auto restored = journal.restore();
    REQUIRE(restored);
    CHECK(restored->epoch.value > last);
    last = restored->epoch.value;
  }
}

TEST_CASE("of a batch that fails in the middle nothing is kept, and the next one is") {
  JournalBench bench;
  forbid_wanted(bench.file, 99);
  auto journal = open_journal(bench.file);
  REQUIRE_FALSE(journal.keep(std::vector<rack::Record>{{1, {entry_no(1)}, {}}}));
  const std::vector<rack::Record> records{
      {2, {entry_no(2)}, {rack::KeepWanted{uid(1), {slide_at(9, 500), 9}}}},
      {3, {entry_no(3)}, {rack::KeepWanted{uid(99), {slide_at(9, 500), 9}}}}};
  const auto trouble = journal.keep(records);
  REQUIRE(trouble);
  CHECK(trouble->sentence == "step: forbidden by the test");
  CHECK(sequences(bench.file, {}) == Numbers{1});
  CHECK(journal.restore()->wanted.empty());

  REQUIRE_FALSE(journal.keep(std::vector<rack::Record>{{4, {entry_no(4)}, {}}}));
  CHECK(sequences(bench.file, {}) == Numbers{2, 1});
  // The chain goes on from the last row that was really kept.
  CHECK_FALSE(first_broken(bench.file));
}

TEST_CASE("when no byte more can be written nothing is kept, and when there is room again it is") {
  JournalBench bench;
  auto journal = open_journal(bench.file);
  REQUIRE_FALSE(journal.keep(std::vector<rack::Record>{{1, {entry_no(1)}, {}}}));
  std::vector<rack::Record> many;
  for (int i = 2; i < 400; ++i)
    many.push_back({static_cast<rack::RecordId>(i),
                    {entry_no(i)},
                    {rack::KeepWanted{uid(1), {slide_at(9, 500), 9}}}});
  std::optional<store::StoreError> trouble;
  {
    const NoRoom no_room{std::filesystem::file_size(bench.file.string() + "-wal")};
    trouble = journal.keep(many);
  }
  REQUIRE(trouble);
  CHECK(trouble->sentence != "");
  CHECK(sequences(bench.file, {}) == Numbers{1});
  CHECK(journal.restore()->wanted.empty());
  REQUIRE_FALSE(journal.keep(many));
  CHECK(journal.restore()->wanted.size() == 1);
  CHECK_FALSE(first_broken(bench.file));
}

TEST_CASE("no row of the journal can be changed or deleted, not even by hand") {
  JournalBench bench;
  write_three(bench.file);
  CHECK(by_hand(bench.file, "UPDATE journal SET who = 'Bo' WHERE sequence = 2") ==
        "the journal keeps every word");
  CHECK(by_hand(bench.file, "DELETE FROM journal WHERE sequence = 3") ==
        "the journal keeps every row");
  CHECK_FALSE(first_broken(bench.file));
  CHECK(by_hand(bench.file, "INSERT INTO journal SELECT * FROM journal").starts_with("UNIQUE"));
}

TEST_CASE("a hand that takes the triggers away first is found by the chain") {
  const std::string off = "DROP TRIGGER journal_keeps_rows; DROP TRIGGER journal_keeps_words;";
  struct Row {
    std::string sql;
    std::uint64_t broken;
  };
  for (const auto& [sql, broken] :
       std::vector<Row>{{"UPDATE journal SET who = 'Bo' WHERE sequence = 2", 2},
                        {"UPDATE journal SET at_us = at_us + 1 WHERE sequence = 1", 1},
                        {"UPDATE journal SET kind = 'refused' WHERE sequence = 3", 3},
                        {"UPDATE journal SET node = 'right' WHERE sequence = 3", 3},
                        {"UPDATE journal SET change = 9 WHERE sequence = 3", 3},
                        {"UPDATE journal SET segment = 'x' WHERE sequence = 3", 3},
                        {"UPDATE journal SET what = 'x' WHERE sequence = 3", 3},
                        {"UPDATE journal SET why = '' WHERE sequence = 3", 3},
                        {"UPDATE journal SET verdict = '' WHERE sequence = 3", 3},
                        {"UPDATE journal SET waiver = '' WHERE sequence = 3", 3},
                        {"UPDATE journal SET fate = 'failed' WHERE sequence = 3", 3},
                        // The same letters, with the border between two fields moved.
                        {"UPDATE journal SET who = who || 'l', node = 'eft' WHERE sequence = 2", 2},
                        {"UPDATE journal SET hash = 'x' WHERE sequence = 1", 1},
                        {"DELETE FROM journal WHERE sequence = 2", 3},
                        {"DELETE FROM journal WHERE sequence = 1", 2},
                        {"UPDATE journal SET sequence = 4 WHERE sequence = 3", 4}}) {
    const auto& the_sql = sql;
    CAPTURE(the_sql);
    JournalBench bench;
    write_three(bench.file);
    REQUIRE(by_hand(bench.file, off + sql) == "");
    CHECK(first_broken(bench.file) == broken);
  }
}

TEST_CASE("a kind that does not exist is found by the chain too") {
  JournalBench bench;
  write_three(bench.file);
  REQUIRE(by_hand(bench.file,
                  "DROP TRIGGER journal_keeps_words;"
                  "UPDATE journal SET kind = 'wish' WHERE sequence = 2") == "");
  CHECK(first_broken(bench.file) == 2);
}

TEST_CASE("the journal is asked by node, kind, change, and page by page") {
  JournalBench bench;
  auto journal = open_journal(bench.file);
  std::vector<rack::Record> records;
  for (int i = 1; i <= 6; ++i) {
    auto entry = entry_no(i, i % 2 == 0 ? "right" : "left");
    entry.change = i < 5 ? 1 : 2;
    if (i == 4) entry.kind = rack::JournalKind::intent;
    records.push_back({static_cast<rack::RecordId>(i), {entry}, {}});
  }
  REQUIRE_FALSE(journal.keep(records));
  CHECK(sequences(bench.file, {}) == Numbers{6, 5, 4, 3, 2, 1});
  CHECK(sequences(bench.file, query([](auto& q) { q.node = "right"; })) == Numbers{6, 4, 2});
  CHECK(sequences(bench.file, query([](auto& q) { q.kind = "intent"; })) == Numbers{4});
  CHECK(sequences(bench.file, query([](auto& q) { q.change = 2; })) == Numbers{6, 5});
  CHECK(sequences(bench.file, query([](auto& q) {
                    q.node = "left";
                    q.change = 1;
                  })) == Numbers{3, 1});
  CHECK(sequences(bench.file, query([](auto& q) { q.limit = 2; })) == Numbers{6, 5});
  CHECK(sequences(bench.file, query([](auto& q) {
                    q.before = 5;
                    q.limit = 2;
                  })) == Numbers{4, 3});
  CHECK(sequences(bench.file, query([](auto& q) { q.before = 1; })).empty());
  CHECK(sequences(bench.file, query([](auto& q) { q.node = "nobody"; })).empty());
  CHECK(sequences(bench.file, query([](auto& q) { q.node = "left' OR '1'='1"; })).empty());
}

TEST_CASE("the journal is asked by name, segment, time and text") {
  JournalBench bench;
  auto journal = open_journal(bench.file);
  std::vector<rack::Record> records;
  for (int i = 1; i <= 6; ++i) {
    auto entry = entry_no(i);
    entry.who = i % 2 == 0 ? "bo" : "ana";
    entry.segment = i < 4 ? "speeches" : "finale";
    entry.why = i == 2 ? "100% sure" : i == 3 ? "100 times sure" : i == 5 ? "LONG Cable_x" : "so";
    records.push_back({static_cast<rack::RecordId>(i), {entry}, {}});
  }
  records[5].entries[0].waiver = "Ana: heard in the long hall";
  REQUIRE_FALSE(journal.keep(records));
  const auto text = [&](const char* words) {
    return sequences(bench.file, query([&](auto& q) { q.text = words; }));
  };
  CHECK(sequences(bench.file, query([](auto& q) { q.who = "bo"; })) == Numbers{6, 4, 2});
  CHECK(sequences(bench.file, query([](auto& q) { q.who = "b"; })).empty());
  CHECK(sequences(bench.file, query([](auto& q) { q.segment = "finale"; })) == Numbers{6, 5, 4});
  // From a moment on, up to before another.
  CHECK(sequences(bench.file, query([](auto& q) { q.from = entry_no(4).at; })) == Numbers{6, 5, 4});
  CHECK(sequences(bench.file, query([](auto& q) { q.to = entry_no(4).at; })) == Numbers{3, 2, 1});
  CHECK(sequences(bench.file, query([](auto& q) {
                    q.from = entry_no(2).at;
                    q.to = entry_no(5).at;
                    q.who = "bo";
                  })) == Numbers{4, 2});
  CHECK(text("long") == Numbers{6, 5});
  CHECK(text("Long Cable") == Numbers{5});
  // The signs of LIKE stand for themselves.
  CHECK(text("100%") == Numbers{2});
  CHECK(text("e_x") == Numbers{5});
  CHECK(text("g_C").empty());
  CHECK(text("!").empty());
  CHECK(text("' OR 1=1 --").empty());
  CHECK(text("dB → +3") == Numbers{6, 5, 4, 3, 2, 1});
  // A text is found within one member, not across two.
  CHECK(text("leftspeeches").empty());
}

TEST_CASE("a journal in use by another daemon is not opened") {
  JournalBench bench;
  auto first = open_journal(bench.file);
  REQUIRE(first.restore());
  const auto second = store::Journal::open(bench.file);
  REQUIRE_FALSE(second);
  CHECK(second.error().sentence == "another program has " + bench.file.string() +
                                       " open: is a catwalkd running on this state folder?");
}

TEST_CASE("a journal that its last daemon is just leaving is waited for") {
  JournalBench bench;
  std::optional<store::Journal> first = open_journal(bench.file);
  std::atomic<bool> waits = false;
  std::thread leaves{[&] {
    while (!waits) std::this_thread::yield();
    std::this_thread::sleep_for(std::chrono::milliseconds{100});  // what is tried, not waited for
    first.reset();
  }};
  waits = true;
  const auto second = store::Journal::open(bench.file);
  leaves.join();
  CHECK(second);
}

TEST_CASE("what is no journal is refused, and left as it is") {
  JournalBench bench;
  std::ofstream{bench.file}
      << "the minutes of the harbour board, which are not a database at all\n";
  const auto no_database = store::Journal::open(bench.file);
  REQUIRE_FALSE(no_database);
  CHECK(no_database.error().sentence == "step: file is not a database");
  CHECK(no_database.error().kind == store::StoreError::Kind::broken);

  const auto later = bench.folder.path() / "later.sqlite";
  const auto next = std::to_string(store::file_format + 1);
  REQUIRE(by_hand(later, "CREATE TABLE journal (x); PRAGMA user_version = " + next) == "");
  const auto other_format = store::Journal::open(later);
  REQUIRE_FALSE(other_format);
  CHECK(other_format.error().sentence == "the journal has format " + next +
                                             ", this program writes format " +
                                             std::to_string(store::file_format));

  const auto nowhere = store::Journal::open(bench.folder.path() / "no" / "such.sqlite");
  REQUIRE_FALSE(nowhere);
  CHECK(nowhere.error().sentence == "make " +
                                        (bench.folder.path() / "no/such.sqlite.lock").string() +
                                        ": No such file or directory");
}

TEST_CASE(
    "a write-ahead log that was cut off in the middle costs no record that was acknowledged") {
  JournalBench bench;
  const auto copy = bench.folder.path() / "copy.sqlite";
  {
    auto journal = open_journal(bench.file);
    for (int i = 1; i <= 3; ++i)
      REQUIRE_FALSE(journal.keep(
          std::vector<rack::Record>{{static_cast<rack::RecordId>(i), {entry_no(i)}, {}}}));
    // The files as a power cut would leave them: the journal is not closed, and of its next
    // transaction only a part has reached the disk.
    std::filesystem::copy_file(bench.file, copy);
    std::filesystem::copy_file(bench.file.string() + "-wal", copy.string() + "-wal");
    std::ofstream{copy.string() + "-wal", std::ios::app} << std::string(1000, '\x5A');
  }
  auto journal = open_journal(copy);
  CHECK(sequences(copy, {}) == Numbers{3, 2, 1});
  CHECK_FALSE(first_broken(copy));
}
