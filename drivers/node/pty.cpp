// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/pty.hpp"

#include <fcntl.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <system_error>
#include <utility>

namespace catwalk::drivers {

Result<Pty, std::string> Pty::open() {
  const auto fail = [](int fd) {
    const int error = errno;
    if (fd >= 0) close(fd);
    return Failure{"cannot open a pseudo-terminal: " + std::generic_category().message(error)};
  };
  const int own = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
  if (own < 0) return fail(own);
  std::array<char, 128> path{};
  if (grantpt(own) != 0 || unlockpt(own) != 0 || ptsname_r(own, path.data(), path.size()) != 0) {
    return fail(own);
  }
  const int far = ::open(path.data(), O_RDWR | O_NOCTTY | O_CLOEXEC);
  if (far < 0) return fail(own);
  Pty pty{own, far, path.data()};
  termios settings{};
  if (tcgetattr(far, &settings) != 0) return fail(-1);
  cfmakeraw(&settings);
  if (tcsetattr(far, TCSANOW, &settings) != 0) return fail(-1);
  return pty;
}

Pty::Pty(Pty&& other) noexcept
    : own_{std::exchange(other.own_, -1)},
      far_{std::exchange(other.far_, -1)},
      path_{std::move(other.path_)},
      link_{std::exchange(other.link_, {})} {}

Pty::~Pty() {
  if (own_ >= 0) close(own_);
  if (far_ >= 0) close(far_);
  // Only if it is still ours: another process may have put its own in place.
  std::array<char, 128> target{};
  if (!link_.empty() && readlink(link_.c_str(), target.data(), target.size() - 1) > 0 &&
      path_ == target.data()) {
    unlink(link_.c_str());
  }
}

int Pty::release_own_end() { return std::exchange(own_, -1); }

std::optional<std::string> Pty::link_from(const std::string& path) {
  const std::string next = path + ".next";
  unlink(next.c_str());
  if (symlink(path_.c_str(), next.c_str()) == 0 && std::rename(next.c_str(), path.c_str()) == 0) {
    link_ = path;
    return std::nullopt;
  }
  return "cannot link " + path + ": " + std::generic_category().message(errno);
}

}  // namespace catwalk::drivers
