// SPDX-License-Identifier: Apache-2.0
#pragma once
// Why a number cannot be computed with: which one, what it was, what is allowed. A value, so that
// whoever knows the file or the request can say where it came from.

#include <optional>
#include <string>

#include "daemon/base/result.hpp"

namespace catwalk::rf {

struct OutOfRange {
  std::string field;
  double value = 0.0;
  double lowest = 0.0;  // both ends are allowed
  double highest = 0.0;
  std::string unit;  // "" for a plain number

  // "length: -3 m is outside 0 to 1000 m"
  std::string message() const;
  friend bool operator==(const OutOfRange&, const OutOfRange&) = default;
};

template <class T>
using Checked = Result<T, OutOfRange>;

// Nothing, if lowest ≤ value ≤ highest. NaN is always out of range.
std::optional<OutOfRange> check_range(const char* field, double value, double lowest,
                                      double highest, const char* unit);

}  // namespace catwalk::rf
