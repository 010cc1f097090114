// SPDX-License-Identifier: Apache-2.0
#include "config/clock_text.hpp"

#include <algorithm>
#include <string>

#include "daemon/plan/time_zone.hpp"

namespace catwalk::config {
namespace {

using std::chrono::year_month_day;

constexpr std::size_t longest = 32;

// Whether the text has a digit wherever the pattern has 0, and else what the pattern has.
bool fits(std::string_view text, std::string_view pattern) {
  return std::ranges::equal(
      text, pattern, [](char c, char p) { return p == '0' ? c >= '0' && c <= '9' : c == p; });
}

// Precondition: digits.
int number(std::string_view digits) {
  int value = 0;
  for (const char c : digits) value = 10 * value + (c - '0');
  return value;
}

}  // namespace

std::optional<std::chrono::seconds> read_time_of_day(const Cursor& at) {
  const auto text = at.text(1, longest);
  if (!text) return std::nullopt;
  if (fits(*text, "00:00") || fits(*text, "00:00:00")) {
    const std::string_view digits{*text};
    const int hour = number(digits.substr(0, 2));
    const int minute = number(digits.substr(3, 2));
    const int second = digits.size() > 5 ? number(digits.substr(6, 2)) : 0;
    if (hour < 24 && minute < 60 && second < 60)
      return std::chrono::hours{hour} + std::chrono::minutes{minute} + std::chrono::seconds{second};
  }
  at.report("is not a time of day",
            "\"00:00\" to \"23:59\", or with seconds, such as \"19:30:15\"");
  return std::nullopt;
}

std::optional<year_month_day> read_date(const Cursor& at, std::chrono::sys_days first,
                                        std::chrono::sys_days last) {
  const auto text = at.text(1, longest);
  if (!text) return std::nullopt;
  const std::string allowed = "a day from \"" + plan::in_words(year_month_day{first}) + "\" to \"" +
                              plan::in_words(year_month_day{last}) + "\"";
  if (!fits(*text, "0000-00-00")) {
    at.report("is not a date", allowed);
    return std::nullopt;
  }
  const std::string_view digits{*text};
  const year_month_day date{std::chrono::year{number(digits.substr(0, 4))},
                            std::chrono::month{static_cast<unsigned>(number(digits.substr(5, 2)))},
                            std::chrono::day{static_cast<unsigned>(number(digits.substr(8, 2)))}};
  if (!date.ok()) {
    at.report("is a day that no calendar has", allowed);
  } else if (const std::chrono::sys_days day{date}; day < first || last < day) {
    at.report("is out of range", allowed);
  } else {
    return date;
  }
  return std::nullopt;
}

}  // namespace catwalk::config
