// SPDX-License-Identifier: Apache-2.0
#pragma once
// For tests that open connections by the thousand.

#include <doctest/doctest.h>
#include <sys/resource.h>

namespace catwalk::test {

// As many as this process may have.
inline void more_descriptors() {
  rlimit limit{};
  REQUIRE(getrlimit(RLIMIT_NOFILE, &limit) == 0);
  limit.rlim_cur = limit.rlim_max;
  REQUIRE(setrlimit(RLIMIT_NOFILE, &limit) == 0);
}

}  // namespace catwalk::test
