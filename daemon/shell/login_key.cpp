// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/login_key.hpp"

#include <fcntl.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <optional>
#include <variant>

#include "config/file_source.hpp"
#include "daemon/base/hex.hpp"
#include "daemon/base/text.hpp"

namespace catwalk::shell {
namespace {

constexpr std::size_t digits = 64;
constexpr mode_t ours = 0600;
constexpr std::uint32_t others = 0027;  // written by the group, or anything by the others

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

// Empty: the system gives none.
std::string random_key() {
  std::array<unsigned char, digits / 2> bytes{};
  if (getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size())) return {};
  return to_hex(bytes);
}

// A sentence if it cannot be kept.
std::optional<std::string> keep(const std::string& key, const std::filesystem::path& file) {
  // Written whole under another name first: a daemon that is killed leaves no half of a key. What
  // stands under that name is the half of such a one, or a link to somewhere else.
  auto fresh = file;
  fresh += ".new";
  (void)::unlink(fresh.c_str());
  const int made =
      ::open(fresh.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, ours);
  if (made < 0) return because(fresh, "made");
  const bool written = ::fchmod(made, ours) == 0 &&
                       ::write(made, key.data(), key.size()) == static_cast<ssize_t>(key.size()) &&
                       ::fsync(made) == 0;
  auto trouble = because(fresh, "written");  // before close() has its own
  ::close(made);
  if (!written) return trouble;
  if (::rename(fresh.c_str(), file.c_str()) != 0) return because(file, "made");
  if (!is_durable(file.parent_path())) return because(file, "kept");
  return std::nullopt;
}

}  // namespace

Result<LoginKey, std::string> login_key_in(const std::filesystem::path& state_dir) {
  const auto file = state_dir / "login.key";
  const auto anew = [&file](std::string note) -> Result<LoginKey, std::string> {
    auto key = random_key();
    if (key.empty()) return Failure{because(file, "made")};
    // A disk that takes nothing costs the logins of before the next restart, not the show.
    if (const auto trouble = keep(key, file))
      note += (note.empty() ? "" : "; ") + *trouble + ": logins end with this daemon";
    return LoginKey{std::move(key), std::move(note)};
  };
  struct stat status {};
  if (::lstat(file.c_str(), &status) != 0 && errno == ENOENT) return anew({});
  // Wherever a link leads, it is none of ours.
  const auto read =
      S_ISLNK(status.st_mode) ? config::Unreadable{"it is a link"} : config::read_from_disk(file);
  const auto* content = std::get_if<config::SourceFile>(&read);
  if (content != nullptr && (content->mode & others) != 0)
    return Failure{file.string() + " is open to others; allowed is mode 0600, 0400 or 0440"};
  if (content != nullptr) {
    const auto key = content->text.substr(0, content->text.find('\n'));
    if (is_hex(key, digits)) return LoginKey{key, {}};
  }
  // A key is nobody's work: one that is lost costs a login, and a rack that stays dark more.
  auto aside = file;
  aside += ".broken";
  if (::rename(file.c_str(), aside.c_str()) != 0) return anew(because(file, "read, nor set aside"));
  return anew(
      file.string() +
      (content == nullptr ? " cannot be read (" + std::get<config::Unreadable>(read).reason + ")"
                          : " does not hold 64 hexadecimal digits") +
      "; it is kept as " + aside.string() + ", and another was made: everybody is logged out");
}

}  // namespace catwalk::shell
