// SPDX-License-Identifier: Apache-2.0
#include "daemon/base/uid.hpp"

namespace catwalk {
namespace {

std::optional<std::uint64_t> hex_digits(std::string_view text) {
  std::uint64_t value = 0;
  for (const char c : text) {
    unsigned digit = 0;
    if (c >= '0' && c <= '9') {
      digit = static_cast<unsigned>(c - '0');
    } else if (c >= 'a' && c <= 'f') {
      digit = static_cast<unsigned>(c - 'a') + 10;
    } else if (c >= 'A' && c <= 'F') {
      digit = static_cast<unsigned>(c - 'A') + 10;
    } else {
      return std::nullopt;
    }
    value = value << 4 | digit;
  }
  return value;
}

}  // namespace

std::optional<NodeUid> NodeUid::parse(std::string_view text) {
  constexpr std::size_t maker_digits = 4;
  constexpr std::size_t serial_digits = 8;
  if (text.size() != maker_digits + 1 + serial_digits || text[maker_digits] != '-') {
    return std::nullopt;
  }
  const auto maker = hex_digits(text.substr(0, maker_digits));
  const auto serial = hex_digits(text.substr(maker_digits + 1));
  if (!maker || !serial) return std::nullopt;
  return from_bits(*maker << 32 | *serial);
}

std::string NodeUid::text() const {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string out;
  for (int shift = 44; shift >= 0; shift -= 4) {
    if (shift == 28) out += '-';
    out += digits[static_cast<std::size_t>(bits_ >> shift & 0xF)];
  }
  return out;
}

}  // namespace catwalk
