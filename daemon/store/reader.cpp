// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/reader.hpp"

#include <algorithm>
#include <functional>

#include "daemon/store/tables.hpp"

namespace catwalk::store {
namespace {

constexpr auto highest_row = static_cast<std::uint64_t>(highest_number);

// Conditions joined by AND, and what stands for their question marks.
class Narrowed {
 public:
  template <class Value>
  void by(const std::string& condition, const Value& value) {
    where_ += " AND " + condition;
    binds_.push_back([value](Statement& statement, int at) { statement.bind(at, value); });
  }
  const std::string& where() const { return where_; }
  // From this question mark on; the number of the next one.
  int bind(Statement& statement, int at) const {
    for (const auto& bind_one : binds_) bind_one(statement, at++);
    return at;
  }

 private:
  std::string where_;
  std::vector<std::function<void(Statement&, int)>> binds_;
};

// Of LIKE … ESCAPE '!': the text somewhere, each of its signs for itself.
std::string anywhere(const std::string& text) {
  std::string pattern = "%";
  for (const char c : text) {
    if (c == '%' || c == '_' || c == '!') pattern += '!';
    pattern += c;
  }
  return pattern + '%';
}

Narrowed narrowed(const rack::JournalQuery& query) {
  Narrowed all;
  if (query.node) all.by("node = ?", *query.node);
  if (query.kind) all.by("kind = ?", *query.kind);
  if (query.who) all.by("who = ?", *query.who);
  if (query.segment) all.by("segment = ?", *query.segment);
  if (query.change) all.by("change > 0 AND change = ?", static_cast<std::int64_t>(*query.change));
  // With a plus: the index by time would give all rows of that time at once, to be sorted.
  if (query.from) all.by("+at_us >= ?", micros(*query.from));
  if (query.to) all.by("+at_us < ?", micros(*query.to));
  if (query.text)
    all.by(
        "(who || char(10) || node || char(10) || segment || char(10) || what || char(10) || why || "
        "char(10) || verdict || char(10) || waiver || char(10) || fate) LIKE ? ESCAPE '!'",
        anywhere(*query.text));
  return all;
}

// The highest row below this one; nothing: there is none. A hand in the file may have left gaps.
std::optional<std::int64_t> highest_below(Connection& connection, std::int64_t top) {
  Statement found{connection,
                  "SELECT max(sequence) FROM journal WHERE sequence > 0 AND sequence < ?"};
  found.bind(1, top);
  if (!found.step() || !found.is_integer(0)) return std::nullopt;
  return found.integer(0);
}

}  // namespace

JournalReader::JournalReader(std::unique_ptr<Connection> connection)
    : connection_{std::move(connection)} {}
JournalReader::JournalReader(JournalReader&&) noexcept = default;
JournalReader& JournalReader::operator=(JournalReader&&) noexcept = default;
JournalReader::~JournalReader() = default;

Result<JournalReader, StoreError> JournalReader::open(const std::filesystem::path& file) {
  try {
    auto connection = std::make_unique<Connection>(file.string(), Connection::Access::read);
    // A word that is only understood when the file is looked at.
    connection->execute("SELECT count(*) FROM sqlite_schema");
    return JournalReader{std::move(connection)};
  } catch (const SqliteError& error) {
    return Failure{error.told()};
  }
}

Result<rack::JournalPage, StoreError> JournalReader::read(const rack::JournalQuery& query,
                                                          const ReadingBounds& bounds) {
  using Clock = std::chrono::steady_clock;
  const auto out_of_time = Clock::now() + bounds.most_time;
  rack::JournalPage page;
  try {
    const auto asked = narrowed(query);
    Statement rows{*connection_, "SELECT sequence, " + std::string{entry_columns} +
                                     " FROM journal WHERE sequence >= ? AND sequence < ?" +
                                     asked.where() + " ORDER BY sequence DESC LIMIT ?"};
    const int limit = asked.bind(rows, 3);
    const auto before = std::min(query.before.value_or(highest_row), highest_row);
    auto highest = highest_below(*connection_, static_cast<std::int64_t>(before));
    for (std::size_t looked_at = 0; highest;) {
      const auto from =
          std::max<std::int64_t>(1, *highest + 1 - static_cast<std::int64_t>(bounds.slice));
      rows.bind(1, from)
          .bind(2, *highest + 1)
          .bind(limit, static_cast<std::int64_t>(query.limit - page.rows.size()));
      while (rows.step())
        page.rows.push_back({static_cast<std::uint64_t>(rows.integer(0)), entry_at(rows, 1)});
      rows.reset();
      if (page.rows.size() >= query.limit) return page;
      looked_at += bounds.slice;
      highest = highest_below(*connection_, from);
      if (highest && (looked_at >= bounds.most_rows || Clock::now() >= out_of_time)) {
        page.looked_down_to = static_cast<std::uint64_t>(*highest + 1);
        return page;
      }
    }
  } catch (const SqliteError& error) {
    return Failure{error.told()};
  }
  return page;
}

Result<bool, StoreError> JournalReader::go_on(ChainWalk& walk, std::size_t rows) {
  try {
    return walk.go_on(*connection_, rows);
  } catch (const SqliteError& error) {
    return Failure{error.told()};
  }
}

std::optional<StoreError> JournalReader::walk(ChainWalk& walk) {
  try {
    walk.go_to_end(*connection_);
    return std::nullopt;
  } catch (const SqliteError& error) {
    return error.told();
  }
}

Result<std::uint64_t, StoreError> JournalReader::rows_before(rack::TimePoint moment) {
  try {
    Statement count{*connection_, "SELECT count(*) FROM journal WHERE at_us < ?"};
    count.bind(1, micros(moment)).step();
    return static_cast<std::uint64_t>(count.integer(0));
  } catch (const SqliteError& error) {
    return Failure{error.told()};
  }
}

}  // namespace catwalk::store
