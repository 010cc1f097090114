// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/journal.hpp"

#include <optional>

#include "daemon/rack/values/epochs.hpp"
#include "daemon/store/files.hpp"
#include "daemon/store/sqlite.hpp"
#include "daemon/store/tables.hpp"

namespace catwalk::store {

namespace {

// Throws StoreError.
const std::filesystem::path& prepared(const std::filesystem::path& file) {
  if (const auto error = prepare_files(file)) throw StoreError{*error};
  if (is_marked_broken(file))
    throw StoreError{"it turned out to be broken when it was last written",
                     StoreError::Kind::broken};
  return file;
}

constexpr int pages_of_log = 1'000;  // of 4 KiB, before it is copied back

// "INTO wanted(uid, revision, …) VALUES(?,?,…)".
std::string into(const std::string& table, const std::string& columns) {
  std::string values = "?";
  for (const char each : columns)
    if (each == ',') values += ",?";
  return " INTO " + table + '(' + columns + ") VALUES(" + values + ')';
}

}  // namespace

struct Journal::Database {
  // Shared: with readers, by way of a file (-shm). Without room for that one, alone.
  enum class Manner { shared, alone };

  Database(const std::filesystem::path& path, Manner manner)
      : file{path}, lock{path}, connection{prepared(path).string(), Connection::Access::write} {
    if (manner == Manner::alone) connection.execute("PRAGMA locking_mode = EXCLUSIVE;");
    bring_up_to_date();
    begin.emplace(connection, "BEGIN IMMEDIATE");
    commit.emplace(connection, "COMMIT");
    append.emplace(connection,
                   "INSERT INTO journal(sequence, at_us, kind, who, node, change, segment, what, "
                   "why, verdict, waiver, fate, hash) VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?)");
    forget_wanted.emplace(connection, "DELETE FROM wanted WHERE uid=?");
    keep_wanted.emplace(
        connection, "INSERT OR REPLACE" + into("wanted", "uid, revision, " + settings_columns()));
    keep_unfinished.emplace(
        connection,
        "INSERT OR REPLACE" + into("unfinished", "change, uid, " + settings_columns("before_") +
                                                     ", " + settings_columns("after_")));
    forget_unfinished.emplace(connection, "DELETE FROM unfinished WHERE change = ?");
    keep_alarm.emplace(connection,
                       "INSERT OR REPLACE INTO alarms VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?)");
    forget_alarm.emplace(connection, "DELETE FROM alarms WHERE id = ?");
    keep_fact.emplace(connection, "INSERT OR REPLACE INTO facts VALUES(?,?,?,?)");
    keep_switch.emplace(connection, "INSERT INTO switching VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?)");
    keep_switch_node.emplace(
        connection,
        "INSERT" + into("switching_nodes", "place, uid, " + settings_columns("before_") + ", " +
                                               settings_columns("target_") + ", left_out"));
    keep_switch_step.emplace(connection, "UPDATE switching SET back = ?, step = ?, ticket = ?");
    keep_tick.emplace(connection, "INSERT OR REPLACE INTO ticks VALUES(?,?,?,?,?,?)");
    forget_tick.emplace(connection,
                        "DELETE FROM ticks WHERE left_segment=? AND entered_segment=? AND row=?");
    keep_reached.emplace(connection, "INSERT OR REPLACE INTO reached VALUES(?,?)");
    keep_spoken.emplace(connection, "INSERT OR REPLACE INTO spoken(epoch) VALUES(?)");
    forget_spoken.emplace(connection,
                          "DELETE FROM spoken WHERE (epoch = ?1 AND epoch <> ?2) OR place NOT IN "
                          "(SELECT place FROM spoken ORDER BY place DESC LIMIT ?3)");
    remember_end();
  }

  // Nothing is written into a file that is not ours.
  void bring_up_to_date() {
    connection.execute("PRAGMA cell_size_check = ON;");
    const auto version = number("PRAGMA user_version");
    check_format(connection, version, file);
    if (version == 0 && number("SELECT count(*) FROM sqlite_schema") != 0)
      throw SqliteError{"it is a database of something else", SQLITE_FORMAT};
    connection.execute(
        "PRAGMA journal_mode = WAL;"
        "PRAGMA synchronous = FULL;"
        "PRAGMA foreign_keys = ON;");
    sqlite3_wal_hook(connection.get(), copy_back, this);
    // If the log was long for once, it is cut.
    connection.execute("PRAGMA journal_size_limit = 16777216;");
    Statement mode{connection, "PRAGMA journal_mode"};
    if (!mode.step() || mode.text(0) != "wal")
      throw SqliteError{"no write-ahead log can be kept beside " + file.string(), SQLITE_IOERR};
    mode.reset();
    const auto missing = missing_tables(static_cast<int>(version));
    if (missing.empty()) return;
    if (version != 0) brought_up = keep_copy_of_format(connection, static_cast<int>(version), file);
    connection.execute("BEGIN IMMEDIATE;" + missing + "COMMIT;");
  }

  // Copies the log back into the file. While somebody reads nothing begins it anew: if that went on
  // for as long again, this waits for the reading that runs, and those after it find a log begun
  // anew. A reader of another program may read for longer: then once more for every pages_of_log.
  static int copy_back(void* database, sqlite3* connection, const char* name, int pages) {
    auto& own = *static_cast<Database*>(database);
    if (pages < pages_of_log) {
      own.wait_at = 2 * pages_of_log;
      return SQLITE_OK;
    }
    const bool waits = pages >= own.wait_at;
    const auto mode = waits ? SQLITE_CHECKPOINT_TRUNCATE : SQLITE_CHECKPOINT_PASSIVE;
    // What cannot be copied now is copied another time.
    if (waits) own.waiting(true);
    sqlite3_wal_checkpoint_v2(connection, name, mode, nullptr, nullptr);
    if (waits) {
      own.waiting(false);
      own.wait_at = pages + pages_of_log;
    }
    return SQLITE_OK;
  }

  std::int64_t number(const char* sql) {
    Statement statement{connection, sql};
    return statement.step() ? statement.integer(0) : 0;
  }

  void remember_end() {
    head = begin_of_journal(connection);
    Statement last{connection, "SELECT sequence, hash FROM journal ORDER BY sequence DESC LIMIT 1"};
    if (last.step()) head = {Row{last, "journal"}.number(0), Row{last, "journal"}.hash(1)};
  }

  void fact(std::string_view name, std::int64_t value, std::string_view text = {},
            std::string_view more = {}) {
    keep_fact->bind(1, name).bind(2, value).bind(3, text).bind(4, more).run();
  }

  void add(const rack::JournalEntry& entry) {
    head = {head.row + 1, hash_of(head.hash, entry)};
    append->bind(1, static_cast<std::int64_t>(head.row))
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
        .bind(13, head.hash)
        .run();
  }

  void put(const rack::KeepWanted& write) {
    keep_wanted->bind(1, static_cast<std::int64_t>(write.node.bits()))
        .bind(2, static_cast<std::int64_t>(write.wanted.revision));
    bind_settings(*keep_wanted, 3, write.wanted.settings);
    keep_wanted->run();
  }
  void put(const rack::ForgetWanted& write) {
    forget_wanted->bind(1, static_cast<std::int64_t>(write.node.bits())).run();
  }
  void put(const rack::KeepUnfinished& write) {
    keep_unfinished->bind(1, static_cast<std::int64_t>(write.unfinished.change))
        .bind(2, static_cast<std::int64_t>(write.unfinished.node.bits()));
    bind_settings(*keep_unfinished, 3, write.unfinished.before);
    bind_settings(*keep_unfinished, 3 + settings_count, write.unfinished.after);
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
  void put(const rack::KeepSpoken& write) {
    keep_spoken->bind(1, write.epoch.value).run();
    forget_spoken->bind(1, protocol::OurEpochs::unknown.value)
        .bind(2, write.epoch.value)
        .bind(3, std::int64_t{protocol::OurEpochs::most})
        .run();
  }
  void put(const rack::KeepSwitch& write) {
    put(rack::ForgetSwitch{});
    const auto& change = write.unfinished;
    const auto waiver = change.waiver.value_or(rack::Waiver{});
    keep_switch->bind(1, static_cast<std::int64_t>(change.id))
        .bind(2, change.left)
        .bind(3, change.entered)
        .bind(4, change.cue)
        .bind(5, change.who)
        .bind(6, change.why)
        .bind(7, std::int64_t{change.waiver.has_value()})
        .bind(8, waiver.who)
        .bind(9, waiver.reason)
        .bind(10, std::int64_t{change.back})
        .bind(11, std::int64_t{change.step})
        .bind(12, static_cast<std::int64_t>(change.ticket))
        .bind(13, std::int64_t{change.restores})
        .bind(14, std::int64_t{change.stuck})
        .run();
    std::int64_t place = 0;
    for (const auto& node : change.nodes) {
      keep_switch_node->bind(1, ++place).bind(2, static_cast<std::int64_t>(node.uid.bits()));
      bind_settings(*keep_switch_node, 3, node.before);
      bind_settings(*keep_switch_node, 3 + settings_count, node.target);
      keep_switch_node->bind(3 + 2 * settings_count, std::int64_t{node.left_out});
      keep_switch_node->run();
    }
  }
  void put(const rack::KeepSwitchStep& write) {
    keep_switch_step->bind(1, std::int64_t{write.back})
        .bind(2, std::int64_t{write.step})
        .bind(3, static_cast<std::int64_t>(write.ticket))
        .run();
  }
  void put(const rack::KeepSwitchStuck&) { connection.execute("UPDATE switching SET stuck = 1"); }
  void put(const rack::ForgetSwitch&) {
    connection.execute("DELETE FROM switching; DELETE FROM switching_nodes;");
  }
  void put(const rack::KeepCue& write) { fact("cue", 0, write.cue); }
  void put(const rack::KeepReached& write) {
    keep_reached->bind(1, write.segment).bind(2, micros(write.at)).run();
  }
  void put(const rack::ForgetReached&) { connection.execute("DELETE FROM reached"); }
  void put(const rack::KeepTick& write) {
    const auto& tick = write.tick;
    keep_tick->bind(1, tick.left)
        .bind(2, tick.entered)
        .bind(3, tick.row)
        .bind(4, tick.said)
        .bind(5, tick.ticked.who)
        .bind(6, micros(tick.ticked.at))
        .run();
  }
  void put(const rack::ForgetTick& write) {
    forget_tick->bind(1, write.tick.left).bind(2, write.tick.entered).bind(3, write.tick.row).run();
  }

  void pay_epoch() {
    if (owed_epoch) fact("epoch", owed_epoch->value);
  }

  // A page that is broken shows when it is written: better now than at the first change.
  void try_to_write() {
    connection.execute("SAVEPOINT trial");
    add({});
    connection.execute("ROLLBACK TO trial; RELEASE trial");
    remember_end();
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
      auto kept = error.told();
      is_corrupt = error.says_corrupt();
      try {
        remember_end();
      } catch (const SqliteError& second) {
        kept.sentence += std::string{"; then "} + second.what();
      }
      return kept;
    }
  }

  std::filesystem::path file;
  std::string brought_up;  // from which format, and where that is kept; empty: it is as it was
  FileLock lock;
  Connection connection;
  std::optional<Statement> begin, commit;
  std::optional<Statement> keep_alarm, forget_alarm;
  std::optional<Statement> keep_tick, forget_tick, keep_spoken, forget_spoken;
  std::optional<Statement> keep_switch, keep_switch_node, keep_switch_step, keep_reached;
  std::optional<Statement> append, keep_wanted, forget_wanted, keep_unfinished, forget_unfinished,
      keep_fact;
  rack::JournalHead head;
  std::int64_t last_alarm = 0;
  int wait_at = 2 * pages_of_log;
  std::function<void(bool)> waiting = [](bool) {};
  std::optional<protocol::Epoch> owed_epoch;  // of this run, not durable yet
  bool is_corrupt = false;                    // as the last transaction that failed found it
};

Journal::Journal(std::unique_ptr<Database> database) : database_{std::move(database)} {}
Journal::Journal(Journal&&) noexcept = default;
Journal& Journal::operator=(Journal&&) noexcept = default;
Journal::~Journal() = default;

Result<Journal, StoreError> Journal::open(const std::filesystem::path& file) {
  try {
    try {
      return Journal{std::make_unique<Database>(file, Database::Manner::shared)};
    } catch (const SqliteError& error) {
      if (error.says_broken() || error.says_in_use()) throw;
      return Journal{std::make_unique<Database>(file, Database::Manner::alone)};
    }
  } catch (const SqliteError& error) {
    return Failure{error.told()};
  } catch (const StoreError& error) {
    return Failure{error};
  }
}

void Journal::on_waiting(std::function<void(bool)> told) { database_->waiting = std::move(told); }

Result<rack::Restored, StoreError> Journal::restore(rack::TimePoint now, rack::EpochShare share) {
  auto& database = *database_;
  rack::Restored restored;
  try {
    restored = read_state(database.connection);
  } catch (const SqliteError& error) {
    return Failure{error.told()};
  }
  database.last_alarm = static_cast<std::int64_t>(restored.last_alarm);
  restored.share = share;
  restored.epoch = rack::next_epoch(restored.epoch, now, share);
  database.owed_epoch = restored.epoch;
  const auto trouble = database.transaction([&] {
    database.try_to_write();
    database.pay_epoch();
  });
  if (!trouble) database.owed_epoch.reset();
  if (trouble && trouble->kind == StoreError::Kind::broken) return Failure{*trouble};
  return restored;
}

std::optional<StoreError> Journal::keep(std::span<const rack::Record> records) {
  auto& database = *database_;
  auto trouble = database.transaction([&] {
    database.pay_epoch();
    for (const auto& record : records) {
      for (const auto& entry : record.entries) database.add(entry);
      for (const auto& write : record.writes)
        std::visit([&](const auto& what) { database.put(what); }, write);
    }
  });
  if (!trouble) {
    database.owed_epoch.reset();
  } else if (database.is_corrupt) {
    mark_broken(database.file);
    trouble->sentence += "; when the daemon is started again, it sets this journal aside";
  }
  return trouble;
}

const std::string& Journal::brought_up() const { return database_->brought_up; }
rack::JournalHead Journal::head() const { return database_->head; }
const std::filesystem::path& Journal::file() const { return database_->file; }

}  // namespace catwalk::store
