// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/login_key.hpp"

#include <fcntl.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>

namespace catwalk::shell {
namespace {

constexpr std::size_t digits = 64;

std::string because(const std::filesystem::path& file, const char* what) {
  return file.string() + " cannot be " + what + ": " + std::strerror(errno);
}

// A new name in a folder is there after a loss of power only if the folder was synced too.
bool is_durable(const std::filesystem::path& folder) {
  const int opened = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (opened < 0) return false;
  const bool synced = ::fsync(opened) == 0;
  ::close(opened);
  return synced;
}

Result<std::string, std::string> make_key(const std::filesystem::path& file) {
  std::array<unsigned char, digits / 2> bytes{};
  if (getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size()))
    return Failure{because(file, "made")};
  std::string key;
  static constexpr char hex[] = "0123456789abcdef";
  for (const auto byte : bytes) {
    key += hex[byte >> 4];
    key += hex[byte & 15];
  }
  // Written whole under another name first: a daemon that is killed leaves no half of a key.
  auto fresh = file;
  fresh += ".new";
  // What a killed one left is removed, and never written through: it may lead anywhere.
  if (::unlink(fresh.c_str()) != 0 && errno != ENOENT) return Failure{because(fresh, "removed")};
  const int made =
      ::open(fresh.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
  if (made < 0) return Failure{because(fresh, "made")};
  const bool written = ::write(made, key.data(), key.size()) == static_cast<ssize_t>(key.size()) &&
                       ::fsync(made) == 0;
  auto trouble = because(fresh, "written");  // before close() has its own
  ::close(made);
  if (!written) return Failure{std::move(trouble)};
  if (::rename(fresh.c_str(), file.c_str()) != 0) return Failure{because(file, "made")};
  if (!is_durable(file.parent_path())) return Failure{because(file, "kept")};
  return key;
}

}  // namespace

Result<std::string, std::string> login_key_in(const std::filesystem::path& state_dir) {
  const auto file = state_dir / "login.key";
  std::error_code error;
  const auto status = std::filesystem::symlink_status(file, error);
  if (!std::filesystem::exists(status)) return make_key(file);
  if (!std::filesystem::is_regular_file(status))
    return Failure{file.string() + " is no file of its own; delete it to have it made anew"};
  constexpr auto others = std::filesystem::perms::group_write | std::filesystem::perms::others_all;
  if ((status.permissions() & others) != std::filesystem::perms::none)
    return Failure{file.string() + " is open to others; allowed is mode 0600, 0400 or 0440"};
  std::ifstream in{file};
  if (!in) return Failure{because(file, "read")};
  std::string key;
  std::getline(in, key);
  const bool whole = key.size() == digits && std::ranges::all_of(key, [](char c) {
                       return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
                     });
  if (!whole)
    return Failure{file.string() +
                   " does not hold 64 hexadecimal digits; delete it to have it made anew, which "
                   "logs everybody out"};
  return key;
}

}  // namespace catwalk::shell
