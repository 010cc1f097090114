// SPDX-License-Identifier: Apache-2.0
#pragma once
// JSON Pointer (RFC 6901, section 3): "~" and "/" within a member's name are written ~0 and ~1.

#include <string>
#include <string_view>

namespace catwalk::config {

inline std::string escaped(std::string_view key) {
  std::string text;
  for (const char c : key) {
    if (c == '~')
      text += "~0";
    else if (c == '/')
      text += "~1";
    else
      text += c;
  }
  return text;
}

}  // namespace catwalk::config
