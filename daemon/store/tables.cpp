// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/tables.hpp"

#include <array>

#include "daemon/base/hex.hpp"
#include "daemon/base/sha256.hpp"
#include "daemon/rack/values/wire.hpp"
#include "daemon/store/files.hpp"
#include "protocol/matrix_codec.hpp"

namespace catwalk::store {
namespace {

// What format 2 has over format 1.
constexpr const char* alarm_table = R"sql(
CREATE TABLE alarms (
  id INTEGER PRIMARY KEY, kind TEXT NOT NULL, subject TEXT NOT NULL, sentence TEXT NOT NULL,
  raised_us INTEGER NOT NULL, returned INTEGER NOT NULL, returned_us INTEGER NOT NULL,
  acknowledged INTEGER NOT NULL, acknowledged_by TEXT NOT NULL);
PRAGMA user_version = 2;
)sql";

// What format 3 has over format 2.
constexpr const char* switch_tables = R"sql(
CREATE TABLE switching (
  id INTEGER PRIMARY KEY, left_segment TEXT NOT NULL, entered_segment TEXT NOT NULL,
  cue TEXT NOT NULL, who TEXT NOT NULL, why TEXT NOT NULL, waived INTEGER NOT NULL,
  waiver_who TEXT NOT NULL, waiver_reason TEXT NOT NULL,
  back INTEGER NOT NULL, step INTEGER NOT NULL, ticket INTEGER NOT NULL);
CREATE TABLE switching_nodes (
  place INTEGER PRIMARY KEY, uid INTEGER NOT NULL,
  before_gain_cdb INTEGER NOT NULL, before_filter INTEGER NOT NULL,
  before_centre_hz INTEGER NOT NULL, before_power INTEGER NOT NULL, before_label TEXT NOT NULL,
  target_gain_cdb INTEGER NOT NULL, target_filter INTEGER NOT NULL,
  target_centre_hz INTEGER NOT NULL, target_power INTEGER NOT NULL, target_label TEXT NOT NULL);
CREATE TABLE reached (segment TEXT PRIMARY KEY, at_us INTEGER NOT NULL);
PRAGMA user_version = 3;
)sql";

// What format 4 has over format 3.
constexpr const char* shelving_columns = R"sql(
ALTER TABLE alarms ADD COLUMN shelved INTEGER NOT NULL DEFAULT 0;
ALTER TABLE alarms ADD COLUMN shelved_by TEXT NOT NULL DEFAULT '';
ALTER TABLE alarms ADD COLUMN shelved_why TEXT NOT NULL DEFAULT '';
ALTER TABLE alarms ADD COLUMN shelved_until_us INTEGER NOT NULL DEFAULT 0;
CREATE INDEX journal_by_time ON journal(at_us);
PRAGMA user_version = 4;
)sql";

// What format 5 has over format 4.
constexpr const char* repair_columns = R"sql(
ALTER TABLE switching ADD COLUMN restores INTEGER NOT NULL DEFAULT 0;
ALTER TABLE switching_nodes ADD COLUMN left_out INTEGER NOT NULL DEFAULT 0;
PRAGMA user_version = 5;
)sql";

// What format 6 has over format 5. Programs from before spoke under every epoch that they took.
constexpr const char* tick_and_spoken_tables = R"sql(
CREATE TABLE ticks (
  left_segment TEXT NOT NULL, entered_segment TEXT NOT NULL, row TEXT NOT NULL, said TEXT NOT NULL,
  who TEXT NOT NULL, at_us INTEGER NOT NULL,
  PRIMARY KEY (left_segment, entered_segment, row));
CREATE TABLE spoken (place INTEGER PRIMARY KEY, epoch INTEGER NOT NULL UNIQUE);
INSERT INTO spoken(epoch) SELECT number FROM facts WHERE name = 'epoch';
PRAGMA user_version = 6;
)sql";

// What format 7 has over format 6.
constexpr const char* stuck_column = R"sql(
ALTER TABLE switching ADD COLUMN stuck INTEGER NOT NULL DEFAULT 0;
PRAGMA user_version = 7;
)sql";

// What format 8 has over format 7. Every later one says its own number here too.
constexpr const char* format_twice = R"sql(
INSERT OR REPLACE INTO facts(name, number, text, more) VALUES('format', 8, '', '');
PRAGMA user_version = 8;
)sql";

// What format 9 has over format 8.
constexpr const char* matrix_columns = R"sql(
ALTER TABLE wanted ADD COLUMN matrix TEXT NOT NULL DEFAULT '';
ALTER TABLE unfinished ADD COLUMN before_matrix TEXT NOT NULL DEFAULT '';
ALTER TABLE unfinished ADD COLUMN after_matrix TEXT NOT NULL DEFAULT '';
ALTER TABLE switching_nodes ADD COLUMN before_matrix TEXT NOT NULL DEFAULT '';
ALTER TABLE switching_nodes ADD COLUMN target_matrix TEXT NOT NULL DEFAULT '';
INSERT OR REPLACE INTO facts(name, number, text, more) VALUES('format', 9, '', '');
PRAGMA user_version = 9;
)sql";

constexpr const char* schema = R"sql(
CREATE TABLE journal (
  sequence INTEGER PRIMARY KEY,
  at_us INTEGER NOT NULL,
  kind TEXT NOT NULL, who TEXT NOT NULL, node TEXT NOT NULL, change INTEGER NOT NULL,
  segment TEXT NOT NULL, what TEXT NOT NULL, why TEXT NOT NULL, verdict TEXT NOT NULL,
  waiver TEXT NOT NULL, fate TEXT NOT NULL, hash TEXT NOT NULL);
CREATE INDEX journal_by_node ON journal(node, sequence);
CREATE INDEX journal_by_change ON journal(change) WHERE change > 0;
CREATE TRIGGER journal_keeps_words BEFORE UPDATE ON journal
  BEGIN SELECT raise(ABORT, 'the journal keeps every word'); END;
CREATE TABLE wanted (
  uid INTEGER PRIMARY KEY, revision INTEGER NOT NULL, gain_cdb INTEGER NOT NULL,
  filter INTEGER NOT NULL, centre_hz INTEGER NOT NULL, power INTEGER NOT NULL, label TEXT NOT NULL);
CREATE TABLE unfinished (
  change INTEGER PRIMARY KEY, uid INTEGER NOT NULL,
  before_gain_cdb INTEGER NOT NULL, before_filter INTEGER NOT NULL,
  before_centre_hz INTEGER NOT NULL, before_power INTEGER NOT NULL, before_label TEXT NOT NULL,
  after_gain_cdb INTEGER NOT NULL, after_filter INTEGER NOT NULL,
  after_centre_hz INTEGER NOT NULL, after_power INTEGER NOT NULL, after_label TEXT NOT NULL);
CREATE TABLE facts (name TEXT PRIMARY KEY, number INTEGER NOT NULL, text TEXT NOT NULL,
  more TEXT NOT NULL);
)sql";

// In a second place, since format 8.
bool says_format(Connection& connection, std::int64_t format) {
  try {
    Statement said{connection, "SELECT number FROM facts WHERE name = 'format'"};
    return said.step() && said.integer(0) == format;
  } catch (const SqliteError&) {
    return false;
  }
}

}  // namespace

const std::string_view trigger_that_keeps_rows =
    "CREATE TRIGGER journal_keeps_rows BEFORE DELETE ON journal "
    "BEGIN SELECT raise(ABORT, 'the journal keeps every row'); END;\n";

std::string missing_tables(int format) {
  const std::array<std::string, file_format> formats{schema + std::string{trigger_that_keeps_rows},
                                                     alarm_table,
                                                     switch_tables,
                                                     shelving_columns,
                                                     repair_columns,
                                                     tick_and_spoken_tables,
                                                     stuck_column,
                                                     format_twice,
                                                     matrix_columns};
  std::string missing;
  for (auto next = static_cast<std::size_t>(format); next < formats.size(); ++next)
    missing += formats[next];
  return missing;
}

void check_format(Connection& connection, std::int64_t format, const std::filesystem::path& file) {
  const auto known = std::to_string(file_format);
  if (format > file_format && says_format(connection, format)) {
    // Nor is a log copied back into it when this connection ends.
    sqlite3_db_config(connection.get(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
    throw StoreError{"the journal has format " + std::to_string(format) +
                         ", which a later Catwalk writes; this one knows up to format " + known +
                         ", and has not touched it. Install the later one again, or give this one "
                         "the copy that the later one kept beside it under the name " +
                         file.filename().string() + ".format-" + known +
                         ", or another state folder",
                     StoreError::Kind::newer};
  }
  if (format < 0 || format > file_format)
    throw SqliteError{"the journal has format " + std::to_string(format) +
                          ", this program writes format " + known,
                      SQLITE_FORMAT};
}

std::string keep_copy_of_format(Connection& connection, int format,
                                const std::filesystem::path& file) {
  const auto formats = std::to_string(format) + " to " + std::to_string(file_format);
  const auto none = [&formats](const StoreError& why) {
    return StoreError{
        "the journal is to be brought from format " + formats +
            ", and no copy of it can be kept before, so nothing of it was changed: " + why.sentence,
        StoreError::Kind::no_copy};
  };
  try {
    const auto copy = keep_copy(file, format, [&](const std::filesystem::path& empty) {
      Statement into{connection, "VACUUM INTO ?"};
      into.bind(1, empty.string());
      into.run();
    });
    return "The journal was brought from format " + formats + "; as it was before it is kept as " +
           copy.string() + ".";
  } catch (const SqliteError& error) {
    throw none(error.told());
  } catch (const StoreError& error) {
    throw none(error);
  }
}

std::string settings_columns(const std::string& prefix) {
  std::string columns;
  plan::for_each_setting([&](auto field) {
    columns.append(columns.empty() ? "" : ", ").append(prefix).append(name_of(field.setting));
    if (field.setting == Setting::gain) columns += "_cdb";
    if (field.setting == Setting::centre) columns += "_hz";
  });
  return columns + ", " + prefix + "matrix";
}

void bind_settings(Statement& statement, int first, const plan::NodeSettings& settings) {
  const auto* amplifier = settings.amplifier();
  const auto own = amplifier != nullptr ? *amplifier : plan::Settings{};
  plan::for_each_setting([&](auto field) {
    const auto& value = field.of(own);
    if constexpr (field.setting == Setting::gain)
      statement.bind(first, std::int64_t{value.centidecibels()});
    else if constexpr (field.setting == Setting::centre)
      statement.bind(first, value.hertz());
    else if constexpr (field.setting == Setting::label)
      statement.bind(first, value);
    else
      statement.bind(first, std::int64_t{value});
    ++first;
  });
  const auto* matrix = settings.matrix();
  statement.bind(
      first, matrix == nullptr ? std::string{} : to_hex(protocol::encode(rack::to_wire(*matrix))));
}

rack::JournalEntry entry_at(const Statement& row, int column) {
  rack::JournalEntry entry;
  const auto at = row.integer(column);
  entry.at = is_lawful_time(at) ? time_of(at) : rack::TimePoint{};
  entry.kind = named<rack::JournalKind>(row.text(column + 1)).value_or(rack::JournalKind::command);
  entry.who = row.text(column + 2);
  entry.node = row.text(column + 3);
  entry.change = static_cast<rack::ChangeId>(row.integer(column + 4));
  entry.segment = row.text(column + 5);
  entry.what = row.text(column + 6);
  entry.why = row.text(column + 7);
  entry.verdict = row.text(column + 8);
  entry.waiver = row.text(column + 9);
  entry.fate = row.text(column + 10);
  return entry;
}

std::string hash_of(const std::string& before, const rack::JournalEntry& entry) {
  std::string bytes = before;
  const auto add = [&bytes](std::string_view field) {
    bytes += std::to_string(field.size()) + ':';
    bytes += field;
  };
  add(std::to_string(micros(entry.at)));
  add(rack::name_of(entry.kind));
  add(entry.who);
  add(entry.node);
  add(std::to_string(entry.change));
  for (const auto* text :
       {&entry.segment, &entry.what, &entry.why, &entry.verdict, &entry.waiver, &entry.fate})
    add(*text);
  return sha256_hex(bytes);
}

}  // namespace catwalk::store
