// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <doctest/doctest.h>
#include <sys/resource.h>

#include <csignal>
#include <cstdint>

#include "daemon/base/pinned.hpp"

namespace catwalk::test {

// While it lives, no file of this process, or of one that it starts, grows beyond this size: as on
// a full disk.
class NoRoom : Pinned {
 public:
  explicit NoRoom(std::uintmax_t largest) {
    std::signal(SIGXFSZ, SIG_IGN);
    REQUIRE(::getrlimit(RLIMIT_FSIZE, &before_) == 0);
    const rlimit limit{static_cast<rlim_t>(largest), before_.rlim_max};
    REQUIRE(::setrlimit(RLIMIT_FSIZE, &limit) == 0);
  }
  ~NoRoom() { ::setrlimit(RLIMIT_FSIZE, &before_); }

 private:
  rlimit before_{};
};

}  // namespace catwalk::test
