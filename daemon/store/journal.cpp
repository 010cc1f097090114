// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/journal.hpp"

#include <functional>
#include <optional>

#include "daemon/rack/epochs.hpp"
#include "daemon/store/sqlite.hpp"
#include "daemon/store/tables.hpp"

namespace catwalk::store {

struct Journal::Database {
  explicit Database(const std::string& file) : connection{file} {
    connection.execute(
        "PRAGMA locking_mode = EXCLUSIVE;"
        "PRAGMA journal_mode = WAL;"
        "PRAGMA synchronous = FULL;"
        "PRAGMA foreign_keys = ON;");
    const auto version = number("PRAGMA user_version");
    if (version < 0 || version > file_format)
      throw SqliteError{"the journal has format " + std::to_string(version) +
                        ", this program writes format " + std::to_string(file_format)};
    const auto missing = missing_tables(static_cast<int>(version));
    if (!missing.empty()) connection.execute(("BEGIN IMMEDIATE;" + missing + "COMMIT;").c_str());
    begin.emplace(connection, "BEGIN IMMEDIATE");
    commit.emplace(connection, "COMMIT");
    append.emplace(connection,
                   "INSERT INTO journal(sequence, at_us, kind, who, node, change, segment, what, "
                   "why, verdict, waiver, fate, hash) VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?)");
    keep_wanted.emplace(connection, "INSERT OR REPLACE INTO wanted VALUES(?,?,?,?,?,?,?)");
    keep_unfinished.emplace(connection,
                            "INSERT OR REPLACE INTO unfinished VALUES(?,?,?,?,?,?,?,?,?,?,?,?)");
    forget_unfinished.emplace(connection, "DELETE FROM unfinished WHERE change = ?");
    keep_alarm.emplace(connection,
                       "INSERT OR REPLACE INTO alarms VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?)");
    forget_alarm.emplace(connection, "DELETE FROM alarms WHERE id = ?");
    keep_fact.emplace(connection, "INSERT OR REPLACE INTO facts VALUES(?,?,?,?)");
    keep_switch.emplace(connection, "INSERT INTO switching VALUES(?,?,?,?,?,?,?,?,?,?,?,?)");
    keep_switch_node.emplace(connection,
                             "INSERT INTO switching_nodes VALUES(?,?,?,?,?,?,?,?,?,?,?,?)");
    keep_switch_step.emplace(connection, "UPDATE switching SET back = ?, step = ?, ticket = ?");
    keep_reached.emplace(connection, "INSERT OR REPLACE INTO reached VALUES(?,?)");
    remember_end();
  }

  std::int64_t number(const char* sql) {
    Statement statement{connection, sql};
    return statement.step() ? statement.integer(0) : 0;
  }

  void remember_end() {
    Statement last{connection, "SELECT sequence, hash FROM journal ORDER BY sequence DESC LIMIT 1"};
    const bool any = last.step();
    last_sequence = any ? last.integer(0) : 0;
    last_hash = any ? last.text(1) : std::string{};
  }

  void fact(std::string_view name, std::int64_t value, std::string_view text = {},
            std::string_view more = {}) {
    keep_fact->bind(1, name).bind(2, value).bind(3, text).bind(4, more).run();
  }

  void add(const rack::JournalEntry& entry) {
    last_hash = hash_of(last_hash, entry);
    append->bind(1, ++last_sequence)
        .bind(2, micros(entry.at))
        .bind(3, rack::name_of(entry.kind))
        .bind(4, entry.who)
        .bind(5, entry.node)
        .bind(6, static_cast<std::int64_t>(entry.change))
        .bind(7, entry.segment)
        .bind(8, entry.what)
        .bind(9, entry.why)
        .bind(10, entry.verdict)
        .bind(11, entry.waiver)
        .bind(12, entry.fate)
        .bind(13, last_hash)
        .run();
  }

  void put(const rack::KeepWanted& write) {
    keep_wanted->bind(1, static_cast<std::int64_t>(write.node.bits()))
        .bind(2, static_cast<std::int64_t>(write.wanted.revision));
    bind_settings(*keep_wanted, 3, write.wanted.settings);
    keep_wanted->run();
  }
  void put(const rack::KeepUnfinished& write) {
    keep_unfinished->bind(1, static_cast<std::int64_t>(write.unfinished.change))
        .bind(2, static_cast<std::int64_t>(write.unfinished.node.bits()));
    bind_settings(*keep_unfinished, 3, write.unfinished.before);
    bind_settings(*keep_unfinished, 8, write.unfinished.after);
    keep_unfinished->run();
  }
  void put(const rack::ForgetUnfinished& write) {
    forget_unfinished->bind(1, static_cast<std::int64_t>(write.change)).run();
  }
  void put(const rack::KeepLock& write) {
    if (write.lock)
      fact("lock", micros(write.lock->since), write.lock->who, write.lock->why);
    else
      connection.execute("DELETE FROM facts WHERE name = 'lock'");
  }
  void put(const rack::KeepSegment& write) { fact("segment", 0, write.segment); }
  void put(const rack::KeepAlarm& write) {
    const auto& alarm = write.alarm;
    const auto shelving = alarm.shelved.value_or(rack::Shelving{});
    keep_alarm->bind(1, static_cast<std::int64_t>(alarm.id))
        .bind(2, rack::name_of(alarm.kind))
        .bind(3, alarm.subject)
        .bind(4, alarm.sentence)
        .bind(5, micros(alarm.raised))
        .bind(6, std::int64_t{alarm.returned.has_value()})
        .bind(7, micros(alarm.returned.value_or(rack::TimePoint{})))
        .bind(8, std::int64_t{alarm.acknowledged_by.has_value()})
        .bind(9, alarm.acknowledged_by.value_or(""))
        .bind(10, std::int64_t{alarm.shelved.has_value()})
        .bind(11, shelving.by)
        .bind(12, shelving.why)
        .bind(13, micros(shelving.until))
        .run();
    if (const auto id = static_cast<std::int64_t>(alarm.id); id > last_alarm)
      fact("last_alarm", last_alarm = id);
  }
  void put(const rack::ForgetAlarm& write) {
    forget_alarm->bind(1, static_cast<std::int64_t>(write.alarm)).run();
  }
  void put(const rack::KeepEpoch& write) { fact("epoch", write.epoch.value); }
  void put(const rack::KeepSwitch& write) {
    put(rack::ForgetSwitch{});
    const auto& one = write.unfinished;
    const auto waiver = one.waiver.value_or(rack::Waiver{});
    keep_switch->bind(1, static_cast<std::int64_t>(one.id))
        .bind(2, one.left)
        .bind(3, one.entered)
        .bind(4, one.cue)
        .bind(5, one.who)
        .bind(6, one.why)
        .bind(7, std::int64_t{one.waiver.has_value()})
        .bind(8, waiver.who)
        .bind(9, waiver.reason)
        .bind(10, std::int64_t{one.back})
        .bind(11, std::int64_t{one.step})
        .bind(12, static_cast<std::int64_t>(one.ticket))
        .run();
    std::int64_t place = 0;
    for (const auto& node : one.nodes) {
      keep_switch_node->bind(1, ++place).bind(2, static_cast<std::int64_t>(node.uid.bits()));
      bind_settings(*keep_switch_node, 3, node.before);
      bind_settings(*keep_switch_node, 8, node.target);
      keep_switch_node->run();
    }
  }
  void put(const rack::KeepSwitchStep& write) {
    keep_switch_step->bind(1, std::int64_t{write.back})
        .bind(2, std::int64_t{write.step})
        .bind(3, static_cast<std::int64_t>(write.ticket))
        .run();
  }
  void put(const rack::ForgetSwitch&) {
    connection.execute("DELETE FROM switching; DELETE FROM switching_nodes;");
  }
  void put(const rack::KeepCue& write) { fact("cue", 0, write.cue); }
  void put(const rack::KeepReached& write) {
    keep_reached->bind(1, write.segment).bind(2, micros(write.at)).run();
  }

  std::optional<rack::UnfinishedSwitch> unfinished_switch() {
    Statement row{connection, "SELECT * FROM switching"};
    if (!row.step()) return std::nullopt;
    rack::UnfinishedSwitch one;
    one.id = static_cast<rack::ChangeId>(row.integer(0));
    one.left = row.text(1);
    one.entered = row.text(2);
    one.cue = row.text(3);
    one.who = row.text(4);
    one.why = row.text(5);
    if (row.integer(6) != 0) one.waiver = rack::Waiver{row.text(7), row.text(8)};
    one.back = row.integer(9) != 0;
    one.step = static_cast<std::uint32_t>(row.integer(10));
    one.ticket = static_cast<std::uint64_t>(row.integer(11));
    Statement nodes{connection, "SELECT * FROM switching_nodes ORDER BY place"};
    while (nodes.step())
      one.nodes.push_back(
          {protocol::NodeUid::from_bits(static_cast<std::uint64_t>(nodes.integer(1))),
           settings_at(nodes, 2), settings_at(nodes, 7)});
    return one;
  }

  // Runs `work` as one transaction: all of it, or none and the error.
  template <class Work>
  std::optional<StoreError> transaction(Work&& work) {
    try {
      begin->run();
      work();
      commit->run();
      return std::nullopt;
    } catch (const SqliteError& error) {
      sqlite3_exec(connection.get(), "ROLLBACK", nullptr, nullptr, nullptr);
      StoreError kept{error.what()};
      try {
        remember_end();
      } catch (const SqliteError& second) {
        kept.sentence += std::string{"; then "} + second.what();
      }
      return kept;
    }
  }

  Connection connection;
  std::optional<Statement> begin, commit;
  std::optional<Statement> keep_alarm, forget_alarm;
  std::optional<Statement> keep_switch, keep_switch_node, keep_switch_step, keep_reached;
  std::optional<Statement> append, keep_wanted, keep_unfinished, forget_unfinished, keep_fact;
  std::int64_t last_sequence = 0;
  std::int64_t last_alarm = 0;
  std::string last_hash;
};

Journal::Journal(std::unique_ptr<Database> database) : database_{std::move(database)} {}
Journal::Journal(Journal&&) noexcept = default;
Journal& Journal::operator=(Journal&&) noexcept = default;
Journal::~Journal() = default;

Result<Journal, StoreError> Journal::open(const std::filesystem::path& file) {
  try {
    return Journal{std::make_unique<Database>(file.string())};
  } catch (const SqliteError& error) {
    return Failure{StoreError{error.what()}};
  }
}

Result<rack::Restored, StoreError> Journal::restore(rack::TimePoint now) {
  rack::Restored restored;
  auto& database = *database_;
  const auto trouble = database.transaction([&] {
    Statement wanted{database.connection,
                     "SELECT uid, revision, gain_cdb, filter, centre_hz, power, label FROM wanted"};
    while (wanted.step())
      restored.wanted.emplace(
          protocol::NodeUid::from_bits(static_cast<std::uint64_t>(wanted.integer(0))),
          rack::Wanted{settings_at(wanted, 2), static_cast<std::uint64_t>(wanted.integer(1))});
    Statement unfinished{database.connection, "SELECT * FROM unfinished ORDER BY change"};
    while (unfinished.step())
      restored.unfinished.push_back(
          {static_cast<rack::ChangeId>(unfinished.integer(0)),
           protocol::NodeUid::from_bits(static_cast<std::uint64_t>(unfinished.integer(1))),
           settings_at(unfinished, 2), settings_at(unfinished, 7)});
    Statement alarms{database.connection, "SELECT * FROM alarms ORDER BY id"};
    while (alarms.step())
      if (const auto alarm = alarm_at(alarms)) restored.alarms.push_back(*alarm);
    restored.switching = database.unfinished_switch();
    Statement reached{database.connection, "SELECT segment, at_us FROM reached"};
    while (reached.step()) restored.reached[reached.text(0)] = time_of(reached.integer(1));
    Statement facts{database.connection, "SELECT name, number, text, more FROM facts"};
    while (facts.step()) {
      const auto name = facts.text(0);
      const auto value = facts.integer(1);
      if (name == "lock") restored.lock = rack::Lock{facts.text(2), facts.text(3), time_of(value)};
      if (name == "segment") restored.segment = facts.text(2);
      if (name == "cue") restored.cue = facts.text(2);
      if (name == "last_alarm") database.last_alarm = value;
      if (name == "epoch") restored.epoch = {static_cast<std::uint32_t>(value)};
    }
    restored.last_alarm = static_cast<rack::AlarmId>(database.last_alarm);
    restored.last_change = static_cast<rack::ChangeId>(
        database.number("SELECT max(change) FROM (SELECT change FROM "
                        "journal UNION ALL SELECT change FROM unfinished "
                        "UNION ALL SELECT max(id, ticket) FROM switching)"));
    restored.epoch = rack::next_epoch(restored.epoch, now);
    database.fact("epoch", restored.epoch.value);
  });
  if (trouble) return Failure{*trouble};
  return restored;
}

std::optional<StoreError> Journal::keep(std::span<const rack::Record> records) {
  return database_->transaction([&] {
    for (const auto& record : records) {
      for (const auto& entry : record.entries) database_->add(entry);
      for (const auto& write : record.writes)
        std::visit([&](const auto& what) { database_->put(what); }, write);
    }
  });
}

namespace {

// Conditions joined by AND, and what stands for their question marks.
class Narrowed {
 public:
  template <class Value>
  void by(const std::string& condition, const Value& value) {
    where_ += (where_.empty() ? " WHERE " : " AND ") + condition;
    binds_.push_back([value](Statement& statement, int at) { statement.bind(at, value); });
  }
  const std::string& where() const { return where_; }
  // The number of the next question mark.
  int bind(Statement& statement) const {
    int at = 1;
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
  if (query.change) all.by("change = ?", static_cast<std::int64_t>(*query.change));
  if (query.before) all.by("sequence < ?", static_cast<std::int64_t>(*query.before));
  if (query.from) all.by("at_us >= ?", micros(*query.from));
  if (query.to) all.by("at_us < ?", micros(*query.to));
  if (query.text)
    all.by(
        "(who || char(10) || node || char(10) || segment || char(10) || what || char(10) || why || "
        "char(10) || verdict || char(10) || waiver || char(10) || fate) LIKE ? ESCAPE '!'",
        anywhere(*query.text));
  return all;
}

}  // namespace

Result<std::vector<rack::StoredEntry>, StoreError> Journal::read(const rack::JournalQuery& query) {
  std::vector<rack::StoredEntry> entries;
  try {
    const auto asked = narrowed(query);
    Statement rows{database_->connection, "SELECT sequence, " + std::string{entry_columns} +
                                              " FROM journal" + asked.where() +
                                              " ORDER BY sequence DESC LIMIT ?"};
    rows.bind(asked.bind(rows), static_cast<std::int64_t>(query.limit));
    while (rows.step())
      entries.push_back({static_cast<std::uint64_t>(rows.integer(0)), entry_at(rows, 1)});
  } catch (const SqliteError& error) {
    return Failure{StoreError{error.what()}};
  }
  return entries;
}

Result<std::optional<std::uint64_t>, StoreError> Journal::first_broken_row() {
  try {
    Statement rows{database_->connection, "SELECT sequence, hash, " + std::string{entry_columns} +
                                              " FROM journal ORDER BY sequence"};
    std::string before;
    for (std::int64_t expected = 1; rows.step(); ++expected) {
      const bool in_order = rows.integer(0) == expected;
      before = hash_of(before, entry_at(rows, 2));
      if (!in_order || before != rows.text(1))
        return std::optional{static_cast<std::uint64_t>(rows.integer(0))};
    }
    return std::optional<std::uint64_t>{};
  } catch (const SqliteError& error) {
    return Failure{StoreError{error.what()}};
  }
}

}  // namespace catwalk::store
