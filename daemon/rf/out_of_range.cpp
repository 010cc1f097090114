// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/out_of_range.hpp"

#include <cmath>
#include <cstdio>

namespace catwalk::rf {
namespace {

std::string in_digits(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.10g", value);
  return text;
}

}  // namespace

std::string OutOfRange::message() const {
  const std::string suffix = unit.empty() ? "" : " " + unit;
  if (std::isnan(value)) {
    return field + ": not given as a number; allowed is " + in_digits(lowest) + " to " +
           in_digits(highest) + suffix;
  }
  return field + ": " + in_digits(value) + suffix + " is outside " + in_digits(lowest) + " to " +
         in_digits(highest) + suffix;
}

std::optional<OutOfRange> check_range(const char* field, double value, double lowest,
                                      double highest, const char* unit) {
  if (value >= lowest && value <= highest) return std::nullopt;
  return OutOfRange{field, value, lowest, highest, unit};
}

}  // namespace catwalk::rf
