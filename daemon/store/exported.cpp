// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/exported.hpp"

#include "daemon/store/files.hpp"
#include "daemon/store/reader.hpp"
#include "daemon/store/tables.hpp"

namespace catwalk::store {
namespace {

std::string hash_at(Connection& connection, std::int64_t row) {
  Statement found{connection, "SELECT hash FROM journal WHERE sequence = ?"};
  found.bind(1, row);
  return found.step() ? found.text(0) : std::string{};
}

// The last row that is old enough, and whose predecessors all are; 0: none.
std::int64_t last_before(Connection& connection, rack::TimePoint moment) {
  Statement last{connection,
                 "SELECT ifnull((SELECT min(sequence) FROM journal WHERE at_us >= ?) - 1, "
                 "ifnull((SELECT max(sequence) FROM journal), 0))"};
  last.bind(1, micros(moment)).step();
  return last.integer(0);
}

void keep_begin(Connection& connection, const std::string& schema, const rack::JournalHead& begin) {
  Statement fact{connection,
                 "INSERT OR REPLACE INTO " + schema + ".facts VALUES('begins_after', ?, ?, '')"};
  fact.bind(1, static_cast<std::int64_t>(begin.row)).bind(2, begin.hash).run();
}

void write_file(Connection& connection, const std::filesystem::path& target,
                const Exported& exported) {
  {
    Connection fresh{target.string(), Connection::Access::write};
    fresh.execute("PRAGMA synchronous = FULL; BEGIN;" + missing_tables(0) + "COMMIT;");
  }
  Statement attach{connection, "ATTACH ? AS exported"};
  attach.bind(1, target.string()).run();
  connection.execute("PRAGMA exported.synchronous = FULL; BEGIN IMMEDIATE;");
  Statement copy{connection,
                 "INSERT INTO exported.journal SELECT * FROM main.journal WHERE sequence <= ?"};
  copy.bind(1, static_cast<std::int64_t>(exported.head.row)).run();
  if (exported.begin.row != 0) keep_begin(connection, "exported", exported.begin);
  connection.execute("COMMIT; DETACH exported;");
}

// As somebody will do who only has the file.
std::optional<StoreError> verify_file(const std::filesystem::path& target,
                                      const Exported& exported) {
  auto reader = JournalReader::open(target);
  if (!reader) return reader.error();
  ChainWalk walk;
  if (auto trouble = reader.value().walk(walk)) return trouble;
  if (walk.broken() || walk.head() != exported.head || walk.begin() != exported.begin)
    return StoreError{target.string() + " does not hold what was written to it"};
  return std::nullopt;
}

rack::Record farewell(const Exported& exported, const std::filesystem::path& target,
                      rack::TimePoint now) {
  rack::Record record;
  auto& entry = record.entries.emplace_back();
  entry.at = now;
  entry.kind = rack::JournalKind::journal;
  entry.who = "rack";
  entry.what = "rows " + std::to_string(exported.begin.row + 1) + " to " +
               std::to_string(exported.head.row) + " leave for " + target.filename().string();
  entry.why = "they are older than the journal is kept; their head is " + exported.head.text();
  return record;
}

void take_out(Connection& connection, const rack::JournalHead& head) {
  connection.execute("BEGIN IMMEDIATE; DROP TRIGGER journal_keeps_rows;");
  Statement rows{connection, "DELETE FROM journal WHERE sequence <= ?"};
  rows.bind(1, static_cast<std::int64_t>(head.row)).run();
  keep_begin(connection, "main", head);
  connection.execute(std::string{trigger_that_keeps_rows} + "COMMIT;");
}

}  // namespace

Result<Exported, StoreError> export_rows(Journal& journal, const std::filesystem::path& target,
                                         rack::TimePoint moment, rack::TimePoint now) {
  try {
    Connection connection{journal.file().string(), Connection::Access::write};
    connection.execute("PRAGMA synchronous = FULL;");
    ChainWalk walk;
    walk.go_to_end(connection);
    if (walk.broken())
      return Failure{StoreError{"the journal's chain is broken at row " +
                                std::to_string(*walk.broken()) + ": nothing was exported"}};
    const auto last = last_before(connection, moment);
    Exported exported;
    exported.begin = walk.begin();
    if (last <= static_cast<std::int64_t>(exported.begin.row)) return exported;
    exported.head = {static_cast<std::uint64_t>(last), hash_at(connection, last)};
    exported.rows = exported.head.row - exported.begin.row;
    if (auto error = make_new_file(target)) return Failure{std::move(*error)};
    write_file(connection, target, exported);
    if (auto error = verify_file(target, exported)) return Failure{std::move(*error)};
    const std::vector<rack::Record> records{farewell(exported, target, now)};
    if (auto error = journal.keep(records)) return Failure{std::move(*error)};
    take_out(connection, exported.head);
    return exported;
  } catch (const SqliteError& error) {
    return Failure{error.told()};
  }
}

}  // namespace catwalk::store
