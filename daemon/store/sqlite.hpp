// SPDX-License-Identifier: Apache-2.0
#pragma once
// The little of SQLite's C interface that the store needs, with ownership and types. Errors are
// thrown as SqliteError within the room and become StoreError at its door.

#include <sqlite3.h>
#include <unistd.h>

#include <cerrno>
#include <cstdint>
#include <memory>
#include <stdexcept>
#include <string>
#include <string_view>

#include "daemon/store/error.hpp"

namespace catwalk::store {

struct SqliteError : std::runtime_error {
  SqliteError(const std::string& sentence, int result)
      : std::runtime_error{sentence}, code{result} {}

  // The file is not what a journal is: trying again, or having more room, would not help.
  bool says_broken() const {
    switch (code & 0xFF) {
      case SQLITE_ERROR:  // no such table or column
      case SQLITE_CANTOPEN:
      case SQLITE_CORRUPT:
      case SQLITE_FORMAT:
      case SQLITE_MISMATCH:
      case SQLITE_NOTADB:
      case SQLITE_SCHEMA:
      case SQLITE_TOOBIG:
        return true;
      case SQLITE_CONSTRAINT:  // a row where there can be none; not a trigger
        return code == SQLITE_CONSTRAINT_UNIQUE || code == SQLITE_CONSTRAINT_PRIMARYKEY ||
               code == SQLITE_CONSTRAINT_ROWID;
      case SQLITE_IOERR:
        return code == SQLITE_IOERR_READ || code == SQLITE_IOERR_SHORT_READ ||
               code == SQLITE_IOERR_CORRUPTFS || code == SQLITE_IOERR_DATA;
      default:
        return false;
    }
  }
  // A file that was a journal is none any more.
  bool says_corrupt() const {
    return (code & 0xFF) == SQLITE_CORRUPT || (code & 0xFF) == SQLITE_NOTADB;
  }
  StoreError told() const {
    return {what(), says_broken()   ? StoreError::Kind::broken
                    : says_in_use() ? StoreError::Kind::in_use
                                    : StoreError::Kind::failed};
  }
  bool says_in_use() const { return (code & 0xFF) == SQLITE_BUSY; }

  int code;  // SQLite's extended result code
};

class Connection {
 public:
  enum class Access { write, read };

  // The file is not created. What it holds is not trusted: it runs nothing that a schema may hide.
  Connection(const std::string& file, Access access) {
    sqlite3* raw = nullptr;
    const int code = sqlite3_open_v2(
        file.c_str(), &raw, access == Access::write ? SQLITE_OPEN_READWRITE : SQLITE_OPEN_READONLY,
        nullptr);
    handle_.reset(raw);
    if (raw != nullptr) sqlite3_extended_result_codes(raw, 1);
    if (code != SQLITE_OK) fail("open " + file);
    sqlite3_busy_timeout(raw, longest_wait_ms);
    sqlite3_limit(raw, SQLITE_LIMIT_LENGTH, longest_value);
    sqlite3_db_config(raw, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
    sqlite3_db_config(raw, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  }

  void execute(const char* sql) {
    if (sqlite3_exec(handle_.get(), sql, nullptr, nullptr, nullptr) != SQLITE_OK) fail("execute");
  }
  void execute(const std::string& sql) { execute(sql.c_str()); }
  [[noreturn]] void fail(const std::string& doing) const {
    int code = sqlite3_extended_errcode(handle_.get());
    if ((code & 0xFF) == SQLITE_CANTOPEN && machine_lacks_something()) code = SQLITE_IOERR;
    if ((code & 0xFF) == SQLITE_BUSY)
      throw SqliteError{"another program has " +
                            std::string{sqlite3_db_filename(handle_.get(), "main")} +
                            " open: is a catwalkd running on this state folder?",
                        code};
    // The file may be written, and says itself that it must not be: a byte of its header is spoilt.
    if (code == SQLITE_READONLY && ::access(sqlite3_db_filename(handle_.get(), "main"), W_OK) == 0)
      throw SqliteError{doing + ": the header of the file forbids to write it", SQLITE_CORRUPT};
    throw SqliteError{doing + ": " + sqlite3_errmsg(handle_.get()), code};
  }
  sqlite3* get() const { return handle_.get(); }

 private:
  // Whatever could not be opened may be opened later; it says nothing of the file.
  bool machine_lacks_something() const {
    switch (sqlite3_system_errno(handle_.get())) {
      case EDQUOT:
      case EMFILE:
      case ENFILE:
      case ENOMEM:
      case ENOSPC:
      case EROFS:
        return true;
      default:
        return false;
    }
  }

  static constexpr int longest_wait_ms = 1'000;         // for another connection
  static constexpr int longest_value = 16 * 1'048'576;  // bytes; a row has some hundred

  struct Close {
    void operator()(sqlite3* handle) const { sqlite3_close(handle); }
  };
  std::unique_ptr<sqlite3, Close> handle_;
};

// A prepared statement. Bind by position from 1; step until false; reset before the next use.
class Statement {
 public:
  Statement(Connection& connection, std::string_view sql) : connection_{&connection} {
    sqlite3_stmt* raw = nullptr;
    if (sqlite3_prepare_v2(connection.get(), sql.data(), static_cast<int>(sql.size()), &raw,
                           nullptr) != SQLITE_OK)
      connection.fail("prepare");
    handle_.reset(raw);
  }

  Statement& bind(int position, std::int64_t value) {
    return checked(sqlite3_bind_int64(handle_.get(), position, value));
  }
  Statement& bind(int position, std::string_view value) {
    // A view of nothing has no address, which SQLite would take for NULL.
    const char* data = value.empty() ? "" : value.data();
    return checked(sqlite3_bind_text(handle_.get(), position, data, static_cast<int>(value.size()),
                                     SQLITE_TRANSIENT));
  }
  // True: a row is there to be read.
  bool step() {
    const int code = sqlite3_step(handle_.get());
    if (code != SQLITE_ROW && code != SQLITE_DONE) {
      sqlite3_reset(handle_.get());
      connection_->fail("step");
    }
    return code == SQLITE_ROW;
  }
  void reset() { sqlite3_reset(handle_.get()); }
  void run() {
    step();
    reset();
  }
  // What SQLite makes of the value, whatever it is; Row in rows.hpp trusts nothing.
  std::int64_t integer(int column) const { return sqlite3_column_int64(handle_.get(), column); }
  std::string text(int column) const {
    const auto* data = sqlite3_column_text(handle_.get(), column);
    if (data == nullptr) return {};
    return {reinterpret_cast<const char*>(data),
            static_cast<std::size_t>(sqlite3_column_bytes(handle_.get(), column))};
  }
  bool is_integer(int column) const {
    return sqlite3_column_type(handle_.get(), column) == SQLITE_INTEGER;
  }
  bool is_text(int column) const {
    return sqlite3_column_type(handle_.get(), column) == SQLITE_TEXT;
  }
  // "gain_cdb"
  std::string name(int column) const {
    const char* name = sqlite3_column_name(handle_.get(), column);
    return name == nullptr ? std::string{} : name;
  }

 private:
  Statement& checked(int code) {
    if (code != SQLITE_OK) connection_->fail("bind");
    return *this;
  }
  struct Finalize {
    void operator()(sqlite3_stmt* handle) const { sqlite3_finalize(handle); }
  };
  Connection* connection_;
  std::unique_ptr<sqlite3_stmt, Finalize> handle_;
};

}  // namespace catwalk::store
