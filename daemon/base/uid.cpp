// SPDX-License-Identifier: Apache-2.0
#include "daemon/base/uid.hpp"

#include "daemon/base/hex.hpp"

namespace catwalk {
namespace {

std::optional<std::uint64_t> number_in(std::string_view digits) {
  std::uint64_t value = 0;
  for (const char c : digits) {
    const int digit = hex_value(c);
    if (digit < 0) return std::nullopt;
    value = value << 4U | static_cast<unsigned>(digit);
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
  const auto maker = number_in(text.substr(0, maker_digits));
  const auto serial = number_in(text.substr(maker_digits + 1));
  if (!maker || !serial) return std::nullopt;
  return from_bits(*maker << 32 | *serial);
}

std::string NodeUid::text() const {
  std::string out;
  for (int shift = 44; shift >= 0; shift -= 4) {
    if (shift == 28) out += '-';
    out += hex_digit(static_cast<unsigned>(bits_ >> shift & 0xF));
  }
  return out;
}

}  // namespace catwalk
