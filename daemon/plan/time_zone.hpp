// SPDX-License-Identifier: Apache-2.0
#pragma once
// When local clocks were and will be turned, as a value: who reads files makes it, whoever has it
// can say what a clock on the wall shows and when it will show it, without a clock or a file.

#include <chrono>
#include <optional>
#include <string>
#include <vector>

namespace catwalk::plan {

struct TimeZone {
  struct Offset {
    std::chrono::sys_seconds from;  // in force from this moment
    std::chrono::seconds ahead;     // of UTC; negative in the west
    friend bool operator==(const Offset&, const Offset&) = default;
  };
  std::string name = "UTC";     // as the IANA time zone database calls it
  std::vector<Offset> offsets;  // rising; before the first, the first counts. Empty: UTC
  friend bool operator==(const TimeZone&, const TimeZone&) = default;

  std::chrono::seconds ahead_at(std::chrono::sys_seconds moment) const;
  std::chrono::local_seconds local(std::chrono::sys_seconds moment) const;
  // When clocks on the wall show this. They show it twice when they are put back: then the first
  // time. They never show it when they are put forward over it: then the moment they are.
  std::chrono::sys_seconds when(std::chrono::local_seconds shown) const;
};

// A time of day, on one day or on every day.
struct ClockTime {
  std::chrono::seconds of_day{0};  // since midnight as the clock shows it, < 24 h
  std::optional<std::chrono::year_month_day> date{};  // absent: every day
  friend bool operator==(const ClockTime&, const ClockTime&) = default;

  // The first moment not before `from`, once a day; nothing if it is over for good.
  std::optional<std::chrono::sys_seconds> next(const TimeZone& zone,
                                               std::chrono::sys_seconds from) const;
};

// "2026-08-14", "20:15:00" (< 24 h): as ISO 8601 writes them.
std::string in_words(std::chrono::year_month_day date);
std::string in_words(std::chrono::seconds of_day);
// "2026-08-14 20:15:00Z"
std::string in_words(std::chrono::sys_time<std::chrono::microseconds> moment);

}  // namespace catwalk::plan
