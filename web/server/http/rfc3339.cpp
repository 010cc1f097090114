// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/rfc3339.hpp"

namespace catwalk::web {
namespace {

// Takes what it reads from the front of the text.
class Reader {
 public:
  explicit Reader(std::string_view text) : rest_{text} {}

  // Exactly so many digits, and not more than `most`; −1 if it is something else.
  int number(std::size_t digits, int least, int most) {
    if (rest_.size() < digits) return fail();
    int value = 0;
    for (std::size_t i = 0; i < digits; ++i) {
      if (rest_[i] < '0' || rest_[i] > '9') return fail();
      value = value * 10 + (rest_[i] - '0');
    }
    rest_.remove_prefix(digits);
    return value < least || value > most ? fail() : value;
  }
  bool is(char a, char b) { return !rest_.empty() && (rest_.front() == a || rest_.front() == b); }
  bool is(char a) { return is(a, a); }
  void skip(char a, char b) {
    if (is(a, b))
      rest_.remove_prefix(1);
    else
      good_ = false;
  }
  void skip(char a) { skip(a, a); }
  // One digit or more after the point; the first six count.
  std::chrono::microseconds fraction() {
    std::int64_t micros = 0;
    std::size_t digits = 0;
    for (; digits < rest_.size() && rest_[digits] >= '0' && rest_[digits] <= '9'; ++digits)
      if (digits < 6) micros = micros * 10 + (rest_[digits] - '0');
    good_ = good_ && digits > 0;
    rest_.remove_prefix(digits);
    for (std::size_t i = digits; i < 6; ++i) micros *= 10;
    return std::chrono::microseconds{micros};
  }
  bool ended_well() const { return good_ && rest_.empty(); }

 private:
  int fail() {
    good_ = false;
    return 0;
  }
  std::string_view rest_;
  bool good_ = true;
};

}  // namespace

std::optional<rack::TimePoint> parse_time(std::string_view text) {
  Reader reader{text};
  const int year = reader.number(4, 0, 9999);
  reader.skip('-');
  const int month = reader.number(2, 1, 12);
  reader.skip('-');
  const int day = reader.number(2, 1, 31);
  reader.skip('T', 't');
  const std::chrono::hours hour{reader.number(2, 0, 23)};
  reader.skip(':');
  const std::chrono::minutes minute{reader.number(2, 0, 59)};
  reader.skip(':');
  const std::chrono::seconds second{reader.number(2, 0, 60)};
  std::chrono::microseconds fraction{0};
  if (reader.is('.')) {
    reader.skip('.');
    fraction = reader.fraction();
  }
  std::chrono::minutes ahead{0};
  if (reader.is('+') || reader.is('-')) {
    const int sign = reader.is('-') ? -1 : 1;
    reader.skip('+', '-');
    ahead = std::chrono::hours{sign * reader.number(2, 0, 23)};
    reader.skip(':');
    ahead += std::chrono::minutes{sign * reader.number(2, 0, 59)};
  } else {
    reader.skip('Z', 'z');
  }
  const std::chrono::year_month_day date{std::chrono::year{year},
                                         std::chrono::month{static_cast<unsigned>(month)},
                                         std::chrono::day{static_cast<unsigned>(day)}};
  if (!reader.ended_well() || !date.ok()) return std::nullopt;
  return std::chrono::sys_days{date} + hour + minute + second + fraction - ahead;
}

std::optional<rack::TimePoint> parse_time(std::string_view text, const plan::TimeZone& zone,
                                          rack::TimePoint now) {
  if (const auto exact = parse_time(text)) return exact;
  const auto here = zone.local(std::chrono::floor<std::chrono::seconds>(now));
  auto day = std::chrono::floor<std::chrono::days>(here);
  Reader reader{text};
  const bool has_date = text.size() >= 10;
  if (has_date) {
    const int year = reader.number(4, 0, 9999);
    reader.skip('-');
    const int month = reader.number(2, 1, 12);
    reader.skip('-');
    const int of_month = reader.number(2, 1, 31);
    const std::chrono::year_month_day date{std::chrono::year{year},
                                           std::chrono::month{static_cast<unsigned>(month)},
                                           std::chrono::day{static_cast<unsigned>(of_month)}};
    if (!date.ok()) return std::nullopt;
    day = std::chrono::local_days{date};
  }
  std::chrono::seconds of_day{0};
  if (!has_date || !reader.ended_well()) {
    if (has_date) reader.skip('T', ' ');
    of_day += std::chrono::hours{reader.number(2, 0, 23)};
    reader.skip(':');
    of_day += std::chrono::minutes{reader.number(2, 0, 59)};
    if (reader.is(':')) {
      reader.skip(':');
      of_day += std::chrono::seconds{reader.number(2, 0, 59)};
    }
  }
  if (!reader.ended_well()) return std::nullopt;
  return zone.when(day + of_day);
}

}  // namespace catwalk::web
