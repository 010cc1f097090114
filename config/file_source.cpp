// SPDX-License-Identifier: Apache-2.0
#include "config/file_source.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <system_error>

#include "config/value.hpp"

namespace catwalk::config {
namespace {

class Descriptor {
 public:
  explicit Descriptor(int number) : number_{number} {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  int number() const { return number_; }

 private:
  int number_;
};

Unreadable last_error() { return {std::generic_category().message(errno)}; }

}  // namespace

std::variant<SourceFile, Unreadable> read_from_disk(const std::filesystem::path& path) {
  // Not blocking, since opening a pipe waits for its writer before it can be seen to be one.
  const Descriptor file{::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY)};
  if (file.number() < 0) return last_error();
  struct stat status {};
  if (::fstat(file.number(), &status) != 0) return last_error();
  if (!S_ISREG(status.st_mode)) return Unreadable{"it is not a regular file"};

  SourceFile content;
  content.mode = status.st_mode & 07777;
  std::array<char, 65536> piece{};
  while (content.text.size() <= largest_file) {
    const ssize_t got = ::read(file.number(), piece.data(), piece.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return last_error();
    if (got == 0) break;
    content.text.append(piece.data(), static_cast<std::size_t>(got));
  }
  return content;
}

}  // namespace catwalk::config
