// SPDX-License-Identifier: Apache-2.0
// Readings that end at a bound and go on, and the chain held against heads that were written down.
#include "daemon/store/reader.hpp"

#include "daemon/store/exported.hpp"
#include "tests/support/store_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

using Numbers = std::vector<std::uint64_t>;

struct Bench {
  TemporaryFolder folder;
  std::filesystem::path file = folder.path() / "journal.sqlite";

  // So many rows, every seventh of "right"; the head after each.
  std::vector<rack::JournalHead> write(int rows) const {
    auto journal = open_journal(file);
    std::vector<rack::JournalHead> heads;
    for (int i = 1; i <= rows; ++i) {
      const std::vector<rack::Record> one{
          {static_cast<rack::RecordId>(i), {entry_no(i, i % 7 == 0 ? "right" : "left")}, {}}};
      REQUIRE_FALSE(journal.keep(one));
      heads.push_back(journal.head());
    }
    return heads;
  }
};

// All pages of a search, and how many there were.
std::pair<Numbers, int> search(const std::filesystem::path& file, rack::JournalQuery query,
                               const store::ReadingBounds& bounds) {
  auto reader = open_reader(file);
  Numbers found;
  for (int readings = 1;; ++readings) {
    const auto page = reader.read(query, bounds);
    REQUIRE(page);
    for (const auto& row : page->rows) found.push_back(row.sequence);
    if (!page->looked_down_to) return {found, readings};
    CHECK((!query.before || *page->looked_down_to < *query.before));
    query.before = page->looked_down_to;
  }
}

store::Anchored anchored(const std::filesystem::path& file, const rack::JournalHead& anchor) {
  store::ChainWalk walk{{anchor}};
  REQUIRE_FALSE(open_reader(file).walk(walk));
  return walk.anchors().front().found;
}

const std::string no_triggers =
    "DROP TRIGGER journal_keeps_rows; DROP TRIGGER journal_keeps_words;";

}  // namespace

TEST_CASE(
    "a search that ends at its bound says where, and going on from there leaves nothing out") {
  Bench bench;
  bench.write(100);
  rack::JournalQuery right;
  right.node = "right";
  Numbers expected;
  for (std::uint64_t i = 98; i >= 7; i -= 7) expected.push_back(i);
  for (const std::size_t slice : {1U, 3U, 7U, 50U, 1'000U})
    for (const std::size_t most : {1U, 10U, 99U, 100U, 101U}) {
      CAPTURE(slice);
      CAPTURE(most);
      const auto [found, readings] =
          search(bench.file, right, {slice, most, std::chrono::hours{1}});
      CHECK(found == expected);
      CHECK(readings <= 101);
      if (slice >= 100) CHECK(readings == 1);
    }
}

TEST_CASE("a search whose time is up at once still gets on, slice by slice") {
  Bench bench;
  bench.write(100);
  rack::JournalQuery nothing;
  nothing.text = "nothing is like this";
  const auto [found, readings] =
      search(bench.file, nothing, {10, 1'000, std::chrono::milliseconds{0}});
  CHECK(found.empty());
  CHECK(readings == 10);
}

TEST_CASE("a search that has found enough ends there, without having to go on") {
  Bench bench;
  bench.write(50);
  rack::JournalQuery query;
  query.limit = 3;
  const auto page = open_reader(bench.file).read(query, {2, 2, std::chrono::milliseconds{0}});
  REQUIRE(page);
  CHECK(page->rows.size() == 2);
  CHECK(page->looked_down_to == 49);
  const auto enough = open_reader(bench.file).read(query, {10, 10, std::chrono::milliseconds{0}});
  CHECK(enough->rows.size() == 3);
  CHECK_FALSE(enough->looked_down_to);
}

TEST_CASE("gaps that a hand left, and rows far above, do not keep a search busy") {
  Bench bench;
  bench.write(9);
  REQUIRE(by_hand(bench.file, no_triggers +
                                  "UPDATE journal SET sequence = 9007199254740000 WHERE sequence = "
                                  "9; DELETE FROM journal WHERE sequence IN (3, 4, 5);"
                                  "UPDATE journal SET sequence = -7 WHERE sequence = 1") == "");
  const auto [found, readings] = search(bench.file, {}, {2, 1'000, std::chrono::hours{1}});
  CHECK(found == Numbers{9'007'199'254'740'000, 8, 7, 6, 2});
  CHECK(readings == 1);
}

TEST_CASE("a row of which a hand took the meaning is shown as it can be, and ends nothing") {
  Bench bench;
  bench.write(4);
  // Columns say NOT NULL; what they hold may still be anything else.
  REQUIRE(by_hand(bench.file,
                  no_triggers + "UPDATE journal SET at_us = 9223372036854775807, change = 'x' "
                                "WHERE sequence = 2;"
                                "UPDATE journal SET who = x'ff00', kind = 7 WHERE sequence = 3") ==
          "");
  CHECK(rows_of(bench.file).size() == 4);
  CHECK(rows_of(bench.file)[2].entry.at == rack::TimePoint{});
  CHECK(first_broken(bench.file) == 2);
}

TEST_CASE("a head that was written down proves its row and all before it") {
  Bench bench;
  const auto heads = bench.write(20);
  for (const auto& head : heads) CHECK(anchored(bench.file, head) == store::Anchored::same);
  CHECK(anchored(bench.file, {7, heads[7].hash}) == store::Anchored::other);
  CHECK(anchored(bench.file, {21, heads[19].hash}) == store::Anchored::missing);
}

TEST_CASE(
    "a chain that is cut at its end, or computed anew, is whole but for what was written down") {
  Bench bench;
  const auto heads = bench.write(20);
  SUBCASE("cut") {
    REQUIRE(by_hand(bench.file, no_triggers + "DELETE FROM journal WHERE sequence > 15") == "");
    CHECK_FALSE(first_broken(bench.file));
    CHECK(anchored(bench.file, heads[19]) == store::Anchored::missing);
    CHECK(anchored(bench.file, heads[14]) == store::Anchored::same);
  }
  SUBCASE("cut, and written on by the daemon itself") {
    REQUIRE(by_hand(bench.file, no_triggers + "DELETE FROM journal WHERE sequence > 15") == "");
    auto journal = open_journal(bench.file);
    for (int i = 0; i < 9; ++i)
      REQUIRE_FALSE(journal.keep(std::vector<rack::Record>{{1, {entry_no(90 + i)}, {}}}));
    CHECK_FALSE(first_broken(bench.file));
    CHECK(anchored(bench.file, heads[19]) == store::Anchored::other);
  }
}

TEST_CASE("an anchor is a row from 1, a colon, and 64 hexadecimal digits") {
  const std::string hash(64, 'a');
  CHECK(store::parse_head("4711:" + hash) == rack::JournalHead{4711, hash});
  for (const auto& wrong : {std::string{}, std::string{"1"}, "0:" + hash, "-1:" + hash,
                            "1:" + hash.substr(1), "1:" + hash + 'a', "1:" + std::string(64, 'A'),
                            "1 :" + hash, ':' + hash, "99999999999999999999:" + hash}) {
    CAPTURE(wrong);
    CHECK_FALSE(store::parse_head(wrong));
  }
}

TEST_CASE("rows leave by an export that proves them, and the journal goes on after its head") {
  Bench bench;
  const auto heads = bench.write(20);
  const auto target = bench.folder.path() / "season.sqlite";
  const auto now = entry_no(100).at;
  {
    auto journal = open_journal(bench.file);
    const auto exported = store::export_rows(journal, target, entry_no(13).at, now);
    REQUIRE_MESSAGE(exported, (exported ? std::string{} : exported.error().sentence));
    CHECK(exported->rows == 12);
    CHECK(exported->head == heads[11]);
    // It is still written, and by the same hand.
    REQUIRE_FALSE(journal.keep(std::vector<rack::Record>{{1, {entry_no(21)}, {}}}));
  }
  CHECK_FALSE(first_broken(target));
  CHECK(rows_of(target).size() == 12);
  CHECK(rows_of(target).front().entry == entry_no(12));
  CHECK(anchored(target, heads[4]) == store::Anchored::same);
  CHECK_FALSE(first_broken(bench.file));
  CHECK(anchored(bench.file, heads[4]) == store::Anchored::gone);
  CHECK(anchored(bench.file, heads[11]) == store::Anchored::same);
  CHECK(anchored(bench.file, heads[19]) == store::Anchored::same);
  const auto rows = rows_of(bench.file);
  REQUIRE(rows.size() == 10);
  CHECK(rows[1].entry.kind == rack::JournalKind::journal);
  CHECK(rows[1].entry.what == "rows 1 to 12 leave for season.sqlite");
  CHECK(rows[1].entry.why.ends_with(heads[11].text()));
  // What is left still cannot be deleted, and the next export begins where this one ended.
  CHECK(by_hand(bench.file, "DELETE FROM journal WHERE sequence = 13") ==
        "the journal keeps every row");
  auto journal = open_journal(bench.file);
  REQUIRE(journal.restore());
  const auto second = bench.folder.path() / "second.sqlite";
  const auto more = store::export_rows(journal, second, entry_no(16).at, now);
  REQUIRE(more);
  CHECK(more->begin == heads[11]);
  CHECK(more->rows == 3);
  CHECK(anchored(second, heads[11]) == store::Anchored::same);
  CHECK(anchored(second, heads[12]) == store::Anchored::same);
}

TEST_CASE("nothing leaves into a file that is there, of a broken chain, or that is young enough") {
  Bench bench;
  bench.write(5);
  const auto target = bench.folder.path() / "season.sqlite";
  const auto now = entry_no(100).at;
  {
    auto journal = open_journal(bench.file);
    const auto none = store::export_rows(journal, target, entry_no(1).at, now);
    REQUIRE(none);
    CHECK(none->rows == 0);
    CHECK_FALSE(std::filesystem::exists(target));
    REQUIRE(by_hand(target, "CREATE TABLE minutes (x)") == "");
    const auto there = store::export_rows(journal, target, entry_no(3).at, now);
    REQUIRE_FALSE(there);
    CHECK(there.error().sentence == "make " + target.string() + ": File exists");
  }
  REQUIRE(by_hand(bench.file, no_triggers + "UPDATE journal SET who = 'Bo' WHERE sequence = 2") ==
          "");
  auto journal = open_journal(bench.file);
  const auto broken =
      store::export_rows(journal, bench.folder.path() / "other.sqlite", entry_no(3).at, now);
  REQUIRE_FALSE(broken);
  CHECK(broken.error().sentence == "the journal's chain is broken at row 2: nothing was exported");
  CHECK(rows_of(bench.file).size() == 5);
}
