// SPDX-License-Identifier: Apache-2.0
#pragma once
// What stands in a row of a file that somebody, or a failing disk, may have written into: each
// value is what it should be, or the row is refused.

#include <string>
#include <string_view>

#include "daemon/plan/node_settings.hpp"
#include "daemon/rack/values/time.hpp"
#include "daemon/store/sqlite.hpp"

namespace catwalk::store {

// Numbers of changes, alarms and revisions: exact in JavaScript too.
inline constexpr std::int64_t highest_number = std::int64_t{1} << 53;
inline constexpr std::size_t longest_text = 1'048'576;  // bytes
inline constexpr std::size_t digits_of_hash = 64;

std::int64_t micros(rack::TimePoint at);
rack::TimePoint time_of(std::int64_t at);
// From 1970 to the end of 9999, beyond which no calendar of ours goes.
bool is_lawful_time(std::int64_t micros);

// Throws a SqliteError that names table, column, value and what is allowed, and says_broken().
class Row {
 public:
  Row(const Statement& row, std::string_view table) : row_{&row}, table_{table} {}

  std::int64_t integer(int column, std::int64_t least, std::int64_t most) const;
  std::uint64_t number(int column) const;  // 0 to highest_number
  bool flag(int column) const;
  std::string text(int column, std::size_t longest = longest_text) const;
  rack::TimePoint time(int column) const;
  // Of a row: 64 hexadecimal digits. Empty: what stands there is none, and the chain is broken.
  std::string hash(int column) const;
  // From `column` on, one each; within what the wire can say, the label made plain.
  plan::NodeSettings settings(int column) const;

 private:
  [[noreturn]] void refuse(int column, const std::string& allowed) const;
  // A setting, by its type.
  void read(int column, rf::Gain& gain) const;
  void read(int column, std::uint8_t& filter) const;
  void read(int column, rf::Frequency& centre) const;
  void read(int column, bool& power) const;
  void read(int column, std::string& label) const;

  const Statement* row_;
  std::string_view table_;
};

}  // namespace catwalk::store
