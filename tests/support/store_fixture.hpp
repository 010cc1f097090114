// SPDX-License-Identifier: Apache-2.0
#pragma once
// A journal in a folder of its own, and the file behind it as a later hand would see it.

#include <doctest/doctest.h>
#include <sqlite3.h>

#include <fstream>
#include <iterator>
#include <memory>
#include <string>

#include "daemon/store/journal.hpp"
#include "daemon/store/reader.hpp"
#include "tests/support/process.hpp"
#include "tests/support/rack_fixture.hpp"

namespace catwalk::test {

inline std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream in{file, std::ios::binary};
  return {std::istreambuf_iterator<char>{in}, {}};
}

inline store::Journal open_journal(const std::filesystem::path& file) {
  auto opened = store::Journal::open(file);
  REQUIRE_MESSAGE(opened, (opened ? std::string{} : opened.error().sentence));
  return std::move(opened).value();
}

inline store::JournalReader open_reader(const std::filesystem::path& file) {
  auto opened = store::JournalReader::open(file);
  REQUIRE_MESSAGE(opened, (opened ? std::string{} : opened.error().sentence));
  return std::move(opened).value();
}

inline std::vector<rack::StoredEntry> rows_of(const std::filesystem::path& file,
                                              const rack::JournalQuery& query = {}) {
  auto page = open_reader(file).read(query);
  REQUIRE(page);
  return std::move(page).value().rows;
}

inline std::optional<std::uint64_t> first_broken(const std::filesystem::path& file) {
  store::ChainWalk walk;
  REQUIRE_FALSE(open_reader(file).walk(walk));
  return walk.broken();
}

// Every field different from every other, so that a swap of two columns shows.
inline rack::JournalEntry entry_no(int number, const std::string& node = "left") {
  rack::JournalEntry entry;
  entry.at = rack::TimePoint{std::chrono::microseconds{1'790'000'000'000'000 + number}};
  entry.kind = rack::JournalKind::fate;
  entry.who = "ana " + std::to_string(number);
  entry.node = node;
  entry.change = static_cast<rack::ChangeId>(number);
  entry.segment = "speeches";
  entry.what = "gain +0 dB → +3 dB";
  entry.why = "long cable, \"80 m\"";
  entry.verdict = "caution lane-conflict: so\nnote more";
  entry.waiver = "Ana: no choice";
  entry.fate = "settled";
  return entry;
}

// Runs SQL on the file itself; the message of SQLite, empty if there was no error.
inline std::string by_hand(const std::filesystem::path& file, const std::string& sql) {
  sqlite3* raw = nullptr;
  REQUIRE(sqlite3_open(file.c_str(), &raw) == SQLITE_OK);
  const std::unique_ptr<sqlite3, decltype(&sqlite3_close)> handle{raw, &sqlite3_close};
  char* message = nullptr;
  sqlite3_exec(raw, sql.c_str(), nullptr, nullptr, &message);
  std::string text = message == nullptr ? "" : message;
  sqlite3_free(message);
  return text;
}

// What format 9 has over format 8 is taken away.
inline const std::string without_matrices =
    "ALTER TABLE wanted DROP COLUMN matrix; ALTER TABLE unfinished DROP COLUMN before_matrix;"
    "ALTER TABLE unfinished DROP COLUMN after_matrix;"
    "ALTER TABLE switching_nodes DROP COLUMN before_matrix;"
    "ALTER TABLE switching_nodes DROP COLUMN target_matrix;";

// From now on the file refuses to keep wanted settings of this node.
inline void forbid_wanted(const std::filesystem::path& file, std::uint64_t node) {
  static_cast<void>(open_journal(file));
  REQUIRE(by_hand(file, "CREATE TRIGGER forbidden BEFORE INSERT ON wanted WHEN new.uid = " +
                            std::to_string(node) +
                            " BEGIN SELECT raise(ABORT, 'forbidden by the test'); END") == "");
}

}  // namespace catwalk::test
