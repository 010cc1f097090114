// SPDX-License-Identifier: Apache-2.0
#include "web/server/wire/tls.hpp"

#include <doctest/doctest.h>

using namespace catwalk;
using namespace catwalk::web;
using namespace std::chrono_literals;

TEST_CASE("a certificate is spoken of before it ends, after, and before it begins") {
  const std::chrono::sys_seconds begins{1'790'000'000s};
  const auto ends = begins + std::chrono::days{90};
  const auto trouble = [&](std::chrono::sys_seconds now) {
    return trouble_of_certificate(begins, ends, now);
  };
  CHECK(trouble(begins) == "");
  CHECK(trouble(ends - std::chrono::days{14}) == "");
  CHECK(trouble(ends - std::chrono::days{14} + 1s) ==
        "The certificate of the rack ends at 2026-12-20 14:13:20Z. Put a new one in its place "
        "before that, and reload.");
  CHECK(trouble(ends - 1s).find("ends at") != std::string::npos);
  CHECK(trouble(ends) ==
        "The certificate of the rack ended at 2026-12-20 14:13:20Z. Browsers and catwalk refuse "
        "it; put a new one in its place, and reload.");
  CHECK(trouble(begins - 1s).find("is good from 2026-09-21 14:13:20Z only") != std::string::npos);
}
