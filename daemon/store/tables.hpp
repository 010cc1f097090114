// SPDX-License-Identifier: Apache-2.0
#pragma once
// The tables of the journal's file, format by format, and how values stand in their rows.

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/journal.hpp"
#include "daemon/rack/values/kept.hpp"
#include "daemon/store/error.hpp"
#include "daemon/store/rows.hpp"
#include "daemon/store/sqlite.hpp"

namespace catwalk::store {

// PRAGMA user_version of what this program writes.
inline constexpr int file_format = 9;
// What brings a file of an older format up to date, within a transaction; empty: nothing is
// missing. 0 is an empty file.
std::string missing_tables(int format);
// Throws where this program does not know the format that the file's header says: StoreError of a
// later program, SqliteError of one that nothing in the file confirms, since a bit that turned in
// its header is no later program.
void check_format(Connection& connection, std::int64_t format, const std::filesystem::path& file);

// Whoever wants the older program back gives it this copy. Returns what is to be told. Throws a
// StoreError that says that nothing was changed.
std::string keep_copy_of_format(Connection& connection, int format,
                                const std::filesystem::path& file);

// By which the journal keeps every row.
extern const std::string_view trigger_that_keeps_rows;

// "before_gain_cdb, before_filter, …" with the prefix "before_": the columns that settings stand
// in. Those of a matrix stand in the last, as the hexadecimal digits of their bytes on the wire;
// of an amplifier it is empty.
std::string settings_columns(const std::string& prefix = {});
inline constexpr int settings_count = static_cast<int>(words_of(Setting{}).size()) + 1;
// These, from the column `first`.
void bind_settings(Statement& statement, int first, const plan::NodeSettings& settings);

// Columns of a row of the journal, in the order of entry_at().
inline constexpr std::string_view entry_columns =
    "at_us, kind, who, node, change, segment, what, why, verdict, waiver, fate";
// Of a row that was changed by a later hand: something that can be shown. The chain tells.
rack::JournalEntry entry_at(const Statement& row, int column);
// Over every field with its length before it, so that no two rows can be written alike, and over
// the hash of the row before.
std::string hash_of(const std::string& before, const rack::JournalEntry& entry);

// After which row the journal begins, since those up to it were exported; row 0: at its very
// beginning. Throws SqliteError.
rack::JournalHead begin_of_journal(Connection& connection);
// Of all that stand in the journal; 0: none. The index of changes has it at its end.
rack::ChangeId last_change_in_journal(Connection& connection);
// Under which epochs was spoken. Throws SqliteError.
protocol::OurEpochs spoken_in(Connection& connection);
// What `restore` gives, but for the epoch of the next run: that of the last. Throws SqliteError at
// whatever is not lawful.
rack::Restored read_state(Connection& connection);

}  // namespace catwalk::store
