// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/files.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <string>
#include <system_error>
#include <thread>

namespace catwalk::store {
namespace {

constexpr mode_t ours = 0640;
constexpr std::chrono::seconds longest_wait{2};  // for another program to close the file
constexpr std::chrono::milliseconds between_tries{20};
constexpr mode_t too_open = 0777 & ~ours;
constexpr std::array<const char*, 3> parts{"", "-wal", "-shm"};

std::filesystem::path with(const std::filesystem::path& file, const std::string& ending) {
  auto path = file;
  path += ending;
  return path;
}

StoreError last_error(const std::string& doing) {
  return refused_by_system(doing, {errno, std::generic_category()});
}

// Nobody has the file open yet: closing a descriptor of one gives up all locks that SQLite has.
std::optional<StoreError> make(const std::filesystem::path& path, bool may_be_there) {
  const int number =
      ::open(path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC | O_NONBLOCK, ours);
  if (number < 0 && errno == EEXIST && may_be_there) return std::nullopt;
  if (number < 0) return last_error("make " + path.string());
  const bool closed_to_others = ::fchmod(number, ours) == 0;
  auto error = last_error("chmod " + path.string());
  ::close(number);
  return closed_to_others ? std::nullopt : std::optional{std::move(error)};
}

// Of what is there: a regular file of no more than our mode, or nothing at all.
std::optional<StoreError> look_at(const std::filesystem::path& path) {
  struct stat status {};
  if (::lstat(path.c_str(), &status) != 0)
    return errno == ENOENT ? std::nullopt : std::optional{last_error("look at " + path.string())};
  if (S_ISLNK(status.st_mode))
    return StoreError{path.string() + " is a symbolic link, which is not followed",
                      StoreError::Kind::broken};
  if (!S_ISREG(status.st_mode))
    return StoreError{path.string() + " is not a regular file", StoreError::Kind::broken};
  // If it is somebody else's, it is theirs to close; whether it can be used will show.
  if ((status.st_mode & too_open) != 0) (void)::chmod(path.c_str(), ours);
  return std::nullopt;
}

std::string stamp(rack::TimePoint now) {
  const auto day = std::chrono::floor<std::chrono::days>(now);
  const std::chrono::year_month_day date{day};
  const std::chrono::hh_mm_ss time{std::chrono::floor<std::chrono::seconds>(now - day)};
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%04d%02u%02uT%02d%02d%02dZ", int{date.year()},
                unsigned{date.month()}, unsigned{date.day()},
                static_cast<int>(time.hours().count()), static_cast<int>(time.minutes().count()),
                static_cast<int>(time.seconds().count()));
  return text.data();
}

bool is_there(const std::filesystem::path& path) {
  struct stat status {};
  return ::lstat(path.c_str(), &status) == 0;
}

// That name, or the first with a number behind it that nothing has. The lock is ours, so nobody
// else takes it meanwhile.
std::filesystem::path free_name(const std::filesystem::path& first) {
  const auto is_taken = [](const std::filesystem::path& name) {
    return is_there(name) || is_there(with(name, "-wal")) || is_there(with(name, "-shm"));
  };
  auto name = first;
  for (int more = 2; is_taken(name); ++more) name = with(first, "-" + std::to_string(more));
  return name;
}

// What is in the file, or which names a folder has, is on the disk when this returns.
// `which`: O_NOFOLLOW of a file of ours, O_DIRECTORY of a folder, which may be reached by a link.
void settle(const std::filesystem::path& path, int which) {
  const int number = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | which);
  if (number < 0) throw last_error("open " + path.string());
  const bool settled = ::fsync(number) == 0;
  const auto error = last_error("sync " + path.string());
  ::close(number);
  if (!settled) throw error;
}

}  // namespace

FileLock::FileLock(const std::filesystem::path& file) {
  const auto path = with(file, ".lock");
  if (const auto error = make(path, true)) throw StoreError{*error};
  number_ = ::open(path.c_str(), O_RDWR | O_NOFOLLOW | O_CLOEXEC | O_NONBLOCK);
  if (number_ < 0) throw last_error("open " + path.string());
  // One that was killed a moment ago may still be on its way out, held up by its disk.
  const auto end = std::chrono::steady_clock::now() + longest_wait;
  bool taken = false;
  do {
    if (::flock(number_, LOCK_EX | LOCK_NB) == 0) return;
    taken = errno == EWOULDBLOCK;
    if (taken) std::this_thread::sleep_for(between_tries);
  } while (taken && std::chrono::steady_clock::now() < end);
  auto error = last_error("lock " + path.string());
  ::close(number_);
  if (!taken) throw error;
  throw StoreError{
      "another program has " + file.string() + " open: is a catwalkd running on this state folder?",
      StoreError::Kind::in_use};
}

FileLock::~FileLock() { ::close(number_); }

std::optional<StoreError> make_new_file(const std::filesystem::path& path) {
  return make(path, false);
}

std::optional<StoreError> prepare_files(const std::filesystem::path& file) {
  if (auto error = make(file, true)) return error;
  for (const auto* part : parts)
    if (auto error = look_at(with(file, part))) return error;
  return std::nullopt;
}

std::filesystem::path keep_copy(const std::filesystem::path& file, std::int64_t format,
                                const std::function<void(const std::filesystem::path&)>& write) {
  const auto part = with(file, ".format.part");
  (void)::unlink(part.c_str());  // of one that was interrupted
  if (const auto error = make(part, false)) throw StoreError{*error};
  try {
    write(part);
    settle(part, O_NOFOLLOW);
    const auto copy = free_name(with(file, ".format-" + std::to_string(format)));
    if (::rename(part.c_str(), copy.c_str()) != 0) throw last_error("rename " + part.string());
    settle(copy.has_parent_path() ? copy.parent_path() : ".", O_DIRECTORY);
    return copy;
  } catch (...) {
    (void)::unlink(part.c_str());
    throw;
  }
}

void mark_broken(const std::filesystem::path& file) { (void)make(with(file, ".broken"), true); }
bool is_marked_broken(const std::filesystem::path& file) { return is_there(with(file, ".broken")); }

Result<std::filesystem::path, StoreError> set_aside(const std::filesystem::path& file,
                                                    rack::TimePoint now) {
  // Several within a second have numbers.
  auto aside = free_name(with(file, ".broken-" + stamp(now)));
  // The database last: if the power goes in between, the next start finds it broken still.
  for (const auto* part : {"-shm", "-wal", ""}) {
    const auto from = with(file, part);
    if (is_there(from) && ::rename(from.c_str(), with(aside, part).c_str()) != 0)
      return Failure{last_error("rename " + from.string())};
  }
  (void)::unlink(with(file, ".broken").c_str());
  return aside;
}

void put_back(const std::filesystem::path& aside, const std::filesystem::path& file) {
  for (const auto* part : parts) {
    (void)::unlink(with(file, part).c_str());
    (void)::rename(with(aside, part).c_str(), with(file, part).c_str());
  }
}

}  // namespace catwalk::store
