// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/time_tag.hpp"

#include <doctest/doctest.h>

using namespace catwalk;
using namespace catwalk::control;
using namespace std::chrono_literals;

namespace {

rack::TimePoint at(int year, int month, int day) {
  return std::chrono::sys_days{std::chrono::year{year} / month / day};
}

// Of the tag: its upper half.
std::uint64_t seconds_of(rack::TimePoint at) { return time_tag_of(at).bits >> 32; }

}  // namespace

// The table in RFC 868, "Time Protocol", page 2: seconds since 00:00 (midnight) 1 January 1900 GMT.
TEST_CASE("seconds are counted from 1900, as RFC 868 has them") {
  CHECK(seconds_of(at(1970, 1, 1)) == 2'208'988'800);
  CHECK(seconds_of(at(1976, 1, 1)) == 2'398'291'200);
  CHECK(seconds_of(at(1980, 1, 1)) == 2'524'521'600);
  CHECK(seconds_of(at(1983, 5, 1)) == 2'629'584'000);
}

TEST_CASE("a half second is half of the fraction") {
  CHECK((time_tag_of(at(2026, 8, 14) + 500ms).bits & 0xFFFF'FFFF) == 0x8000'0000);
  CHECK((time_tag_of(at(2026, 8, 14) + 250ms).bits & 0xFFFF'FFFF) == 0x4000'0000);
}

TEST_CASE("what lies ahead is told to the microsecond, and what has passed is negative") {
  const auto now = at(2026, 8, 14) + 123'457us;
  for (const auto apart : {0us, 1us, -1us, 999'999us, 10'000'000us, -3'600'000'000us})
    CHECK(ahead_of(time_tag_of(now + apart), now) == apart);
}

TEST_CASE("immediately is not ahead") {
  CHECK(ahead_of(TimeTag::immediately(), at(2026, 8, 14)) == 0us);
}

// RFC 5905, section 6: era 0 ends on 7 February 2036, 06:28:15 UTC.
TEST_CASE("the night in which the seconds start again is a night like any other") {
  const auto turn = at(2036, 2, 7) + 6h + 28min + 16s;
  CHECK(seconds_of(turn - 1s) == 0xFFFF'FFFF);
  CHECK(seconds_of(turn) == 0);
  CHECK(ahead_of(time_tag_of(turn + 3s), turn - 2s) == 5s);
  CHECK(ahead_of(time_tag_of(turn - 2s), turn + 3s) == -5s);
}
