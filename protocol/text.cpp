// SPDX-License-Identifier: Apache-2.0
#include "protocol/text.hpp"

#include <algorithm>
#include <cstddef>
#include <cstdint>

namespace catwalk::protocol {
namespace {

std::uint8_t byte_at(std::string_view text, std::size_t i) {
  return i < text.size() ? static_cast<std::uint8_t>(text[i]) : std::uint8_t{0};
}

bool is_within(std::uint8_t byte, std::uint8_t low, std::uint8_t high) {
  return byte >= low && byte <= high;
}

bool is_continuation(std::uint8_t byte) { return is_within(byte, 0x80, 0xBF); }

// Length of the character at `i`, 0 if it is ill-formed or a control character.
std::size_t character_length(std::string_view text, std::size_t i) {
  const std::uint8_t first = byte_at(text, i);
  const std::uint8_t second = byte_at(text, i + 1);
  if (is_within(first, 0x20, 0x7E)) return 1;
  if (first == 0xC2) return is_within(second, 0xA0, 0xBF) ? 2 : 0;  // U+0080 to U+009F: controls
  if (is_within(first, 0xC3, 0xDF)) return is_continuation(second) ? 2 : 0;
  if (is_within(first, 0xE0, 0xEF)) {
    const std::uint8_t low = first == 0xE0 ? 0xA0 : 0x80;   // no overlong forms
    const std::uint8_t high = first == 0xED ? 0x9F : 0xBF;  // no surrogates
    return is_within(second, low, high) && is_continuation(byte_at(text, i + 2)) ? 3 : 0;
  }
  if (is_within(first, 0xF0, 0xF4)) {
    const std::uint8_t low = first == 0xF0 ? 0x90 : 0x80;
    const std::uint8_t high = first == 0xF4 ? 0x8F : 0xBF;  // nothing past U+10FFFF
    return is_within(second, low, high) && is_continuation(byte_at(text, i + 2)) &&
                   is_continuation(byte_at(text, i + 3))
               ? 4
               : 0;
  }
  return 0;
}

}  // namespace

bool is_label_text(std::string_view text) {
  std::size_t i = 0;
  while (i < text.size()) {
    const std::size_t length = character_length(text, i);
    if (length == 0) return false;
    i += length;
  }
  return true;
}

bool is_type_text(std::string_view text) {
  return !text.empty() &&
         std::all_of(text.begin(), text.end(), [](char c) { return c > ' ' && c <= '~'; });
}

}  // namespace catwalk::protocol
