// SPDX-License-Identifier: Apache-2.0
#pragma once
// Decimal numbers read exactly, from their digits: 0.1 dB is 10 steps of 0.01 dB, never 9.999.

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>

namespace catwalk::config {

struct TooFine {};   // has digits below the step
struct TooLarge {};  // does not fit, whatever its range
using Scaled = std::variant<std::int64_t, TooFine, TooLarge>;

// The number in units of 10^-places. `digits` is a number as JSON writes it (RFC 8259, section 6);
// 0 ≤ places ≤ 9.  scaled("518.025", 6) = 518025000;  scaled("1e-7", 6) is TooFine.
Scaled scaled(std::string_view digits, int places);

// The other way, without needless zeros: decimal_text(518025000, 6) = "518.025".
std::string decimal_text(std::int64_t value, int places);

}  // namespace catwalk::config
