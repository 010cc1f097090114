// SPDX-License-Identifier: Apache-2.0
#pragma once
// The tables of the journal's file, format by format, and how values stand in their rows.

#include <optional>
#include <string>
#include <string_view>

#include "daemon/rack/record.hpp"
#include "daemon/store/sqlite.hpp"

namespace catwalk::store {

// PRAGMA user_version of what this program writes.
inline constexpr int file_format = 4;
// What brings a file of an older format up to date, within a transaction; empty: nothing is
// missing. 0 is an empty file.
std::string missing_tables(int format);

std::int64_t micros(rack::TimePoint at);
rack::TimePoint time_of(std::int64_t at);

// Five columns from `first`.
void bind_settings(Statement& statement, int first, const plan::Settings& settings);
plan::Settings settings_at(const Statement& row, int column);

// Columns of a row of the journal, in the order of entry_at().
inline constexpr std::string_view entry_columns =
    "at_us, kind, who, node, change, segment, what, why, verdict, waiver, fate";
rack::JournalEntry entry_at(const Statement& row, int column);
// Over every field with its length before it, so that no two rows can be written alike, and over
// the hash of the row before.
std::string hash_of(const std::string& before, const rack::JournalEntry& entry);

// Nothing for a kind that this program does not know.
std::optional<rack::Alarm> alarm_at(const Statement& row);

}  // namespace catwalk::store
