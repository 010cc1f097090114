// SPDX-License-Identifier: Apache-2.0
#pragma once
// The files of a journal: the database, its write-ahead log (-wal), the index of that (-shm), and a
// lock that says whose they are. Nobody but the daemon's user may write them and nobody beyond its
// group may read them, whatever the umask; no symbolic link is followed.

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>

#include "daemon/base/result.hpp"
#include "daemon/rack/values/time.hpp"
#include "daemon/store/error.hpp"

namespace catwalk::store {

// Held by one program at a time, and given back when that ends, however it ends.
class FileLock {
 public:
  // Of the journal `file`. Throws StoreError.
  explicit FileLock(const std::filesystem::path& file);
  FileLock(const FileLock&) = delete;
  FileLock& operator=(const FileLock&) = delete;
  ~FileLock();

 private:
  int number_ = -1;
};

// Of our mode; an error if something stands there already.
std::optional<StoreError> make_new_file(const std::filesystem::path& path);

// Makes the database's file if there is none, and closes what is there to others. An error says
// `broken` if something else stands there.
std::optional<StoreError> prepare_files(const std::filesystem::path& file);

// As an older program left the journal: copied by `write` into the file that it is told, which is
// empty and of our mode, and then named "journal.sqlite.format-7", or "…-2" behind it if that is
// taken. On the disk under that name when this returns; whatever `write` throws leaves nothing.
std::filesystem::path keep_copy(const std::filesystem::path& file, std::int64_t format,
                                const std::function<void(const std::filesystem::path&)>& write);

// The journal turned out to be broken while it was written: the next start is to know.
void mark_broken(const std::filesystem::path& file);
bool is_marked_broken(const std::filesystem::path& file);

// Renames the database with all that belongs to it; nothing is deleted and nothing overwritten. The
// new name of the database: "journal.sqlite.broken-20260814T201500Z".
Result<std::filesystem::path, StoreError> set_aside(const std::filesystem::path& file,
                                                    rack::TimePoint now);
// Undoes it, as far as it can be undone.
void put_back(const std::filesystem::path& aside, const std::filesystem::path& file);

}  // namespace catwalk::store
