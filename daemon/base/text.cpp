// SPDX-License-Identifier: Apache-2.0
#include "daemon/base/text.hpp"

#include <algorithm>
#include <array>
#include <cstdint>

#include "daemon/base/hex.hpp"

namespace catwalk {
namespace {

std::uint8_t byte_at(std::string_view text, std::size_t i) {
  return i < text.size() ? static_cast<std::uint8_t>(text[i]) : std::uint8_t{0};
}

bool is_within(std::uint8_t byte, std::uint8_t low, std::uint8_t high) {
  return byte >= low && byte <= high;
}

bool is_continuation(std::uint8_t byte) { return is_within(byte, 0x80, 0xBF); }

// Precondition: `length` bytes at the front are a well-formed character.
char32_t code_point(std::string_view text, std::size_t length) {
  constexpr std::array<std::uint8_t, 5> first_bits{0, 0x7F, 0x1F, 0x0F, 0x07};
  char32_t value = byte_at(text, 0) & first_bits[length];
  for (std::size_t i = 1; i < length; ++i) value = value << 6U | (byte_at(text, i) & 0x3FU);
  return value;
}

struct Range {
  char32_t first;
  char32_t last;
};

// The Unicode Character Database 15.0, DerivedGeneralCategory.txt: Cc, Cf, Zl and Zp, in order.
constexpr std::array<Range, 23> forbidden{{
    {0x0000, 0x001F},   {0x007F, 0x009F},   {0x00AD, 0x00AD},   {0x0600, 0x0605},
    {0x061C, 0x061C},   {0x06DD, 0x06DD},   {0x070F, 0x070F},   {0x0890, 0x0891},
    {0x08E2, 0x08E2},   {0x180E, 0x180E},   {0x200B, 0x200F},   {0x2028, 0x202E},
    {0x2060, 0x2064},   {0x2066, 0x206F},   {0xFEFF, 0xFEFF},   {0xFFF9, 0xFFFB},
    {0x110BD, 0x110BD}, {0x110CD, 0x110CD}, {0x13430, 0x1343F}, {0x1BCA0, 0x1BCA3},
    {0x1D173, 0x1D17A}, {0xE0001, 0xE0001}, {0xE0020, 0xE007F},
}};

bool is_forbidden(char32_t point) {
  const auto range = std::ranges::lower_bound(forbidden, point, {}, &Range::last);
  return range != forbidden.end() && range->first <= point;
}

}  // namespace

std::size_t character(std::string_view text) {
  const std::uint8_t first = byte_at(text, 0);
  const std::uint8_t second = byte_at(text, 1);
  if (text.empty()) return 0;
  if (first < 0x80) return 1;
  if (is_within(first, 0xC2, 0xDF)) return is_continuation(second) ? 2 : 0;
  if (is_within(first, 0xE0, 0xEF)) {
    const std::uint8_t low = first == 0xE0 ? 0xA0 : 0x80;   // no overlong forms
    const std::uint8_t high = first == 0xED ? 0x9F : 0xBF;  // no surrogates
    return is_within(second, low, high) && is_continuation(byte_at(text, 2)) ? 3 : 0;
  }
  if (is_within(first, 0xF0, 0xF4)) {
    const std::uint8_t low = first == 0xF0 ? 0x90 : 0x80;
    const std::uint8_t high = first == 0xF4 ? 0x8F : 0xBF;  // nothing past U+10FFFF
    return is_within(second, low, high) && is_continuation(byte_at(text, 2)) &&
                   is_continuation(byte_at(text, 3))
               ? 4
               : 0;
  }
  return 0;
}

std::size_t plain_character(std::string_view text) {
  const auto length = character(text);
  return length != 0 && is_forbidden(code_point(text, length)) ? 0 : length;
}

bool is_plain_text(std::string_view text) {
  while (!text.empty()) {
    const auto length = plain_character(text);
    if (length == 0) return false;
    text.remove_prefix(length);
  }
  return true;
}

std::string made_plain(std::string_view text, std::string_view instead, LineFeeds line_feeds) {
  std::string plain;
  plain.reserve(text.size());
  while (!text.empty()) {
    const auto length = plain_character(text);
    const bool stays = length != 0 || (text.front() == '\n' && line_feeds == LineFeeds::kept);
    const auto taken = std::max<std::size_t>(character(text), 1);
    plain += stays ? text.substr(0, taken) : instead;
    text.remove_prefix(taken);
  }
  return plain;
}

std::string with_escapes(std::string_view text, LineFeeds line_feeds) {
  std::string safe;
  safe.reserve(text.size());
  const auto escape = [&safe](char32_t unit) {
    safe += "\\u";
    for (const unsigned shift : {12U, 8U, 4U, 0U}) safe += hex_digit(unit >> shift);
  };
  while (!text.empty()) {
    const auto length = character(text);
    const auto taken = std::max<std::size_t>(length, 1);
    const bool kept_feed = text.front() == '\n' && line_feeds == LineFeeds::kept;
    if (length == 0) {
      safe += "\xEF\xBF\xBD";
    } else if (kept_feed || plain_character(text) != 0) {
      safe += text.substr(0, taken);
    } else if (const auto point = code_point(text, length); point < 0x1'0000) {
      escape(point);
    } else {
      escape(0xD800 + ((point - 0x1'0000) >> 10U));
      escape(0xDC00 + ((point - 0x1'0000) & 0x3FFU));
    }
    text.remove_prefix(taken);
  }
  return safe;
}

bool is_hex(std::string_view text, std::size_t digits) {
  return text.size() == digits && std::ranges::all_of(text, [](char c) {
           return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
         });
}

bool is_type_text(std::string_view text) {
  return !text.empty() &&
         std::all_of(text.begin(), text.end(), [](char c) { return c > ' ' && c <= '~'; });
}

}  // namespace catwalk
