// SPDX-License-Identifier: Apache-2.0
#include "config/exact_number.hpp"

#include <algorithm>

namespace catwalk::config {

Scaled scaled(std::string_view digits, int places) {
  const bool negative = !digits.empty() && digits.front() == '-';
  if (negative) digits.remove_prefix(1);

  std::string significant;
  std::int64_t exponent = 0;  // of the last significant digit
  bool after_point = false;
  std::size_t at = 0;
  for (; at < digits.size() && digits[at] != 'e' && digits[at] != 'E'; ++at) {
    if (digits[at] == '.') {
      after_point = true;
      continue;
    }
    significant += digits[at];
    if (after_point) --exponent;
  }
  if (at < digits.size()) {
    ++at;
    const bool down = at < digits.size() && digits[at] == '-';
    if (at < digits.size() && (digits[at] == '-' || digits[at] == '+')) ++at;
    std::int64_t written = 0;
    for (; at < digits.size(); ++at)
      written = std::min<std::int64_t>(written * 10 + (digits[at] - '0'), 100'000'000);
    exponent += down ? -written : written;
  }

  significant.erase(0, significant.find_first_not_of('0'));
  while (!significant.empty() && significant.back() == '0') {
    significant.pop_back();
    ++exponent;
  }
  if (significant.empty()) return std::int64_t{0};

  const std::int64_t zeros = exponent + places;
  if (zeros < 0) return TooFine{};
  if (static_cast<std::int64_t>(significant.size()) + zeros > 18) return TooLarge{};
  std::int64_t value = 0;
  for (const char digit : significant) value = value * 10 + (digit - '0');
  for (std::int64_t i = 0; i < zeros; ++i) value *= 10;
  return negative ? -value : value;
}

std::string decimal_text(std::int64_t value, int places) {
  std::string digits = std::to_string(value < 0 ? -value : value);
  const auto decimals = static_cast<std::size_t>(places);
  if (digits.size() <= decimals) digits.insert(0, decimals + 1 - digits.size(), '0');
  std::string fraction = digits.substr(digits.size() - decimals);
  digits.erase(digits.size() - decimals);
  while (!fraction.empty() && fraction.back() == '0') fraction.pop_back();
  if (!fraction.empty()) digits += "." + fraction;
  return value < 0 ? "-" + digits : digits;
}

}  // namespace catwalk::config
