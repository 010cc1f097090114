// SPDX-License-Identifier: Apache-2.0
// Moments and clocks on walls. The zones here are written by hand after the IANA time zone
// database; tests/reference compares with the database itself.
#include <doctest/doctest.h>

#include <random>

#include "daemon/plan/time_zone.hpp"

using namespace catwalk::plan;
using namespace std::chrono_literals;
using std::chrono::days;
using std::chrono::local_days;
using std::chrono::local_seconds;
using std::chrono::seconds;
using std::chrono::sys_days;
using std::chrono::sys_seconds;
using std::chrono::year;

namespace {

constexpr sys_seconds utc(int y, unsigned month, unsigned day, seconds of_day) {
  return sys_days{year{y} / std::chrono::month{month} / std::chrono::day{day}} + of_day;
}

constexpr local_seconds wall(int y, unsigned month, unsigned day, seconds of_day) {
  return local_days{year{y} / std::chrono::month{month} / std::chrono::day{day}} + of_day;
}

// Put forward from 3 to 4 on the last Sunday of March, back from 4 to 3 on the last of October.
const TimeZone helsinki{
    "Europe/Helsinki",
    {{utc(2026, 10, 25, 1h), 2h}, {utc(2027, 3, 28, 1h), 3h}, {utc(2027, 10, 31, 1h), 2h}}};

// Put forward over midnight's hour, from 0 to 1, and back from 1 to 0.
const TimeZone havana{
    "America/Havana",
    {{utc(2026, 11, 1, 5h), -5h}, {utc(2027, 3, 14, 5h), -4h}, {utc(2027, 11, 7, 5h), -5h}}};

// By half an hour: back from 2 to 1:30 in April, forward from 2 to 2:30 in October.
const TimeZone lord_howe{"Australia/Lord_Howe",
                         {{utc(2026, 10, 3, 15h + 30min), 11h},
                          {utc(2027, 4, 3, 15h), 10h + 30min},
                          {utc(2027, 10, 2, 15h + 30min), 11h}}};

// From summer time all year to winter time all year, for good.
const TimeZone moscow{"Europe/Moscow", {{utc(2011, 3, 26, 23h), 4h}, {utc(2014, 10, 25, 22h), 3h}}};

// Across the date line: the 30th of December 2011 never was.
const TimeZone apia{"Pacific/Apia", {{utc(2011, 9, 24, 14h), -10h}, {utc(2011, 12, 30, 10h), 14h}}};

}  // namespace

TEST_CASE("a zone that is not given shows UTC") {
  const TimeZone zone;
  CHECK(zone.name == "UTC");
  CHECK(zone.ahead_at(utc(2027, 7, 1, 12h)) == 0s);
  CHECK(zone.local(utc(2027, 7, 1, 12h)) == wall(2027, 7, 1, 12h));
  CHECK(zone.when(wall(2027, 7, 1, 12h)) == utc(2027, 7, 1, 12h));
}

TEST_CASE("east of Greenwich clocks are ahead, west of it they are behind") {
  CHECK(helsinki.local(utc(2027, 1, 10, 22h)) == wall(2027, 1, 11, 0h));
  CHECK(helsinki.when(wall(2027, 1, 11, 0h)) == utc(2027, 1, 10, 22h));
  CHECK(helsinki.when(wall(2027, 7, 11, 0h)) == utc(2027, 7, 10, 21h));
  CHECK(havana.local(utc(2027, 1, 11, 3h)) == wall(2027, 1, 10, 22h));
  CHECK(havana.when(wall(2027, 1, 10, 22h)) == utc(2027, 1, 11, 3h));
  CHECK(havana.when(wall(2027, 7, 10, 22h)) == utc(2027, 7, 11, 2h));
}

TEST_CASE("before the first offset that is known the first counts, after the last the last") {
  CHECK(helsinki.when(wall(1990, 7, 1, 12h)) == utc(1990, 7, 1, 10h));
  CHECK(helsinki.when(wall(2060, 7, 1, 12h)) == utc(2060, 7, 1, 10h));
  CHECK(apia.local(utc(1990, 7, 1, 12h)) == wall(1990, 7, 1, 2h));
}

TEST_CASE("a time that clocks are put forward over is the moment when they are") {
  const auto turn = utc(2027, 3, 28, 1h);
  CHECK(helsinki.local(turn - 1s) == wall(2027, 3, 28, 2h + 59min + 59s));
  CHECK(helsinki.local(turn) == wall(2027, 3, 28, 4h));
  CHECK(helsinki.when(wall(2027, 3, 28, 2h + 59min + 59s)) == turn - 1s);
  for (const seconds of_day : {3h + 0s, 3h + 1s, 3h + 30min + 0s, 3h + 59min + 59s, 4h + 0s})
    CHECK(helsinki.when(wall(2027, 3, 28, of_day)) == turn);
  CHECK(helsinki.when(wall(2027, 3, 28, 4h + 1s)) == turn + 1s);
}

TEST_CASE("a time that clocks show twice is the first time") {
  const auto turn = utc(2027, 10, 31, 1h);
  CHECK(helsinki.local(turn - 30min) == wall(2027, 10, 31, 3h + 30min));
  CHECK(helsinki.local(turn + 30min) == wall(2027, 10, 31, 3h + 30min));
  CHECK(helsinki.when(wall(2027, 10, 31, 3h)) == turn - 1h);
  CHECK(helsinki.when(wall(2027, 10, 31, 3h + 30min)) == turn - 30min);
  CHECK(helsinki.when(wall(2027, 10, 31, 3h + 59min + 59s)) == turn - 1s);
  CHECK(helsinki.when(wall(2027, 10, 31, 4h)) == turn + 1h);
}

TEST_CASE("clocks may be turned at midnight") {
  const auto forward = utc(2027, 3, 14, 5h);
  CHECK(havana.when(wall(2027, 3, 13, 23h + 59min)) == forward - 1min);
  CHECK(havana.when(wall(2027, 3, 14, 0h)) == forward);
  CHECK(havana.when(wall(2027, 3, 14, 0h + 30min)) == forward);
  CHECK(havana.when(wall(2027, 3, 14, 1h)) == forward);
  const auto back = utc(2027, 11, 7, 5h);
  CHECK(havana.when(wall(2027, 11, 7, 0h)) == back - 1h);
  CHECK(havana.when(wall(2027, 11, 7, 0h + 30min)) == back - 30min);
  CHECK(havana.when(wall(2027, 11, 7, 1h)) == back + 1h);
}

TEST_CASE("clocks may be turned by half an hour") {
  const auto back = utc(2027, 4, 3, 15h);
  CHECK(lord_howe.when(wall(2027, 4, 4, 1h + 45min)) == back - 15min);
  CHECK(lord_howe.when(wall(2027, 4, 4, 2h)) == back + 30min);
  const auto forward = utc(2027, 10, 2, 15h + 30min);
  CHECK(lord_howe.when(wall(2027, 10, 3, 2h + 15min)) == forward);
  CHECK(lord_howe.when(wall(2027, 10, 3, 2h + 30min)) == forward);
  CHECK(lord_howe.when(wall(2027, 10, 3, 2h + 31min)) == forward + 1min);
}

TEST_CASE("a zone may change its offset for good") {
  CHECK(moscow.when(wall(2014, 10, 25, 12h)) == utc(2014, 10, 25, 8h));
  CHECK(moscow.when(wall(2014, 10, 26, 1h + 30min)) == utc(2014, 10, 25, 21h + 30min));
  CHECK(moscow.when(wall(2014, 10, 26, 12h)) == utc(2014, 10, 26, 9h));
  CHECK(moscow.when(wall(2027, 7, 1, 12h)) == utc(2027, 7, 1, 9h));
}

TEST_CASE("clocks that are turned twice within hours show each time when they first do") {
  const auto first = utc(2027, 6, 1, 10h);
  const TimeZone zone{"", {{first - 24h, 0h}, {first, 2h}, {first + 3h, 1h}}};
  CHECK(zone.when(wall(2027, 6, 1, 11h)) == first);                       // left out
  CHECK(zone.when(wall(2027, 6, 1, 14h + 30min)) == first + 2h + 30min);  // the first of two
  CHECK(zone.when(wall(2027, 6, 1, 15h)) == first + 4h);
}

TEST_CASE("of any moment the clock's time is found again, or an earlier one that shows the same") {
  constexpr unsigned seed = 20'270'328;
  CAPTURE(seed);
  std::mt19937 random{seed};
  std::uniform_int_distribution<int> second{0, 2 * 366 * 86'400};
  for (const TimeZone& zone : {helsinki, havana, lord_howe, moscow, apia}) {
    CAPTURE(zone.name);
    const auto begin = zone.offsets.front().from + days{2};
    for (int i = 0; i < 5'000; ++i) {
      const auto moment = begin + seconds{second(random)};
      const auto shown = zone.local(moment);
      const auto found = zone.when(shown);
      REQUIRE(zone.local(found) == shown);
      REQUIRE(found <= moment);
      REQUIRE(moment - found <= 1h);
    }
  }
}

TEST_CASE("a time of day comes every day, at its second and not after it") {
  const ClockTime evening{.of_day = 19h + 30min};
  const auto today = utc(2027, 7, 10, 16h + 30min);
  CHECK(evening.next(helsinki, today - 12h) == today);
  CHECK(evening.next(helsinki, today) == today);
  CHECK(evening.next(helsinki, today + 1s) == today + 24h);
}

TEST_CASE("between two days on which clocks are turned a day has 23 or 25 hours") {
  const ClockTime noon{.of_day = 12h};
  const auto before = utc(2027, 3, 27, 10h);
  CHECK(noon.next(helsinki, before + 1s) == before + 23h);
  const auto autumn = utc(2027, 10, 30, 9h);
  CHECK(noon.next(helsinki, autumn + 1s) == autumn + 25h);
}

TEST_CASE("a time of day that is left out comes when clocks are put forward, and only once") {
  const ClockTime night{.of_day = 3h + 30min};
  const auto turn = utc(2027, 3, 28, 1h);
  CHECK(night.next(helsinki, turn - 5h) == turn);
  CHECK(night.next(helsinki, turn) == turn);
  CHECK(night.next(helsinki, turn + 1s) == utc(2027, 3, 29, 0h + 30min));
}

TEST_CASE("a time of day that is shown twice comes once") {
  const ClockTime night{.of_day = 3h + 30min};
  const auto first = utc(2027, 10, 31, 0h + 30min);
  CHECK(night.next(helsinki, first) == first);
  CHECK(night.next(helsinki, first + 1s) == utc(2027, 11, 1, 1h + 30min));
}

TEST_CASE("clocks put forward over midnight leave no day without its cue") {
  const auto turn = utc(2027, 6, 1, 21h + 30min);  // 23:30 becomes 0:30
  const TimeZone zone{"", {{turn - days{90}, 2h}, {turn, 3h}}};
  const ClockTime late{.of_day = 23h + 45min};
  CHECK(late.next(zone, turn) == turn);
  CHECK(late.next(zone, turn + 1s) == utc(2027, 6, 2, 20h + 45min));
  const ClockTime early{.of_day = 0h + 15min};
  CHECK(early.next(zone, turn) == turn);
  CHECK(early.next(zone, turn + 1s) == utc(2027, 6, 2, 21h + 15min));
}

TEST_CASE("clocks put back over midnight give no day its cue twice") {
  const auto turn = utc(2027, 9, 1, 21h + 30min);  // 0:30 becomes 23:30
  const TimeZone zone{"", {{turn - days{90}, 3h}, {turn, 2h}}};
  const ClockTime late{.of_day = 23h + 45min};
  const ClockTime early{.of_day = 0h + 15min};
  CHECK(late.next(zone, turn - 50min) == turn - 45min);
  CHECK(late.next(zone, turn - 44min) == utc(2027, 9, 2, 21h + 45min));
  CHECK(early.next(zone, turn - 50min) == turn - 15min);
  CHECK(early.next(zone, turn) == utc(2027, 9, 2, 22h + 15min));
}

TEST_CASE("a day that a zone leaves out at the date line has no cue") {
  const ClockTime noon{.of_day = 12h};
  const auto last = utc(2011, 12, 29, 22h);
  CHECK(apia.local(last) == wall(2011, 12, 29, 12h));
  CHECK(noon.next(apia, last) == last);
  CHECK(noon.next(apia, last + 1s) == utc(2011, 12, 30, 22h));
  CHECK(apia.local(utc(2011, 12, 30, 22h)) == wall(2011, 12, 31, 12h));
}

TEST_CASE("a time on one day comes once, and never again") {
  const ClockTime finale{.of_day = 23h, .date = year{2027} / 7 / 31};
  const auto then = utc(2027, 7, 31, 20h);
  CHECK(finale.next(helsinki, utc(2020, 1, 1, 0h)) == then);
  CHECK(finale.next(helsinki, then) == then);
  CHECK(finale.next(helsinki, then + 1s) == std::nullopt);
  const ClockTime left_out{.of_day = 3h + 30min, .date = year{2027} / 3 / 28};
  CHECK(left_out.next(helsinki, utc(2027, 3, 1, 0h)) == utc(2027, 3, 28, 1h));
}
