// SPDX-License-Identifier: Apache-2.0
// Says of each code point on standard input, in hexadecimal, whether it is plain text: 1 or 0.
#include <cstdint>
#include <iostream>
#include <string>

#include "daemon/base/text.hpp"

namespace {

std::string utf8(std::uint32_t point) {
  const auto byte = [](std::uint32_t value) { return static_cast<char>(value & 0xFFU); };
  if (point < 0x80) return {byte(point)};
  if (point < 0x800) return {byte(0xC0 | point >> 6), byte(0x80 | (point & 0x3F))};
  if (point < 0x10000)
    return {byte(0xE0 | point >> 12), byte(0x80 | (point >> 6 & 0x3F)),
            byte(0x80 | (point & 0x3F))};
  return {byte(0xF0 | point >> 18), byte(0x80 | (point >> 12 & 0x3F)),
          byte(0x80 | (point >> 6 & 0x3F)), byte(0x80 | (point & 0x3F))};
}

}  // namespace

int main() {
  std::uint32_t point = 0;
  while (std::cin >> std::hex >> point)
    std::cout << (catwalk::is_plain_text(utf8(point)) ? "1\n" : "0\n");
  return 0;
}
