// SPDX-License-Identifier: Apache-2.0
#pragma once
// How a word that is not allowed is told: of an option of `catwalk-node` or of a command to it.

#include <string>
#include <string_view>

#include "daemon/base/result.hpp"

namespace catwalk::drivers {

inline std::string quoted(std::string_view text) { return '"' + std::string{text} + '"'; }

// reason "rain": allowed is none, gain_out_of_range, …
inline Failure<std::string> bad(std::string_view what, std::string_view word,
                                std::string_view allowed) {
  return Failure{std::string{what} + ' ' + quoted(word) + ": allowed is " + std::string{allowed}};
}

}  // namespace catwalk::drivers
