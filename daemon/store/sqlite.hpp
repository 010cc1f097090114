// SPDX-License-Identifier: Apache-2.0
#pragma once
// The little of SQLite's C interface that the store needs, with ownership and types. Errors are
// thrown as SqliteError within the room and become StoreError at its door.

#include <sqlite3.h>

#include <cstdint>
#include <memory>
#include <stdexcept>
#include <string>
#include <string_view>

namespace catwalk::store {

struct SqliteError : std::runtime_error {
  using std::runtime_error::runtime_error;
};

class Connection {
 public:
  explicit Connection(const std::string& file) {
    sqlite3* raw = nullptr;
    const int code =
        sqlite3_open_v2(file.c_str(), &raw, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, nullptr);
    handle_.reset(raw);
    if (code != SQLITE_OK) fail("open " + file);
  }

  void execute(const char* sql) {
    if (sqlite3_exec(handle_.get(), sql, nullptr, nullptr, nullptr) != SQLITE_OK) fail("execute");
  }
  [[noreturn]] void fail(const std::string& doing) const {
    if (sqlite3_errcode(handle_.get()) == SQLITE_BUSY)
      throw SqliteError{"another program has " +
                        std::string{sqlite3_db_filename(handle_.get(), "main")} +
                        " open: is a catwalkd running on this state folder?"};
    throw SqliteError{doing + ": " + sqlite3_errmsg(handle_.get())};
  }
  sqlite3* get() const { return handle_.get(); }

 private:
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
  void run() {
    step();
    sqlite3_reset(handle_.get());
  }
  std::int64_t integer(int column) const { return sqlite3_column_int64(handle_.get(), column); }
  std::string text(int column) const {
    const auto* data = sqlite3_column_text(handle_.get(), column);
    return {reinterpret_cast<const char*>(data),
            static_cast<std::size_t>(sqlite3_column_bytes(handle_.get(), column))};
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
