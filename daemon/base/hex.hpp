// SPDX-License-Identifier: Apache-2.0
#pragma once
// Bytes as hexadecimal digits, two each (RFC 4648, section 8). Written in lower case, read in both.

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace catwalk {

// 0 to 15; −1: it is no digit.
constexpr int hex_value(char digit) {
  if (digit >= '0' && digit <= '9') return digit - '0';
  if (digit >= 'a' && digit <= 'f') return digit - 'a' + 10;
  if (digit >= 'A' && digit <= 'F') return digit - 'A' + 10;
  return -1;
}

// The lowest 4 bits of `value`.
constexpr char hex_digit(unsigned value) { return "0123456789abcdef"[value & 0xFU]; }

inline std::string to_hex(std::span<const std::uint8_t> bytes) {
  std::string text;
  text.reserve(2 * bytes.size());
  for (const auto byte : bytes) {
    text += hex_digit(byte >> 4U);
    text += hex_digit(byte);
  }
  return text;
}

// Nothing: a character is no digit, or their number is odd.
inline std::optional<std::vector<std::uint8_t>> from_hex(std::string_view text) {
  if (text.size() % 2 != 0) return std::nullopt;
  std::vector<std::uint8_t> bytes;
  bytes.reserve(text.size() / 2);
  for (std::size_t i = 0; i < text.size(); i += 2) {
    const int high = hex_value(text[i]);
    const int low = hex_value(text[i + 1]);
    if (high < 0 || low < 0) return std::nullopt;
    bytes.push_back(static_cast<std::uint8_t>(high << 4 | low));
  }
  return bytes;
}

}  // namespace catwalk
