// SPDX-License-Identifier: Apache-2.0
#include "protocol/crc16.hpp"

#include <array>

namespace catwalk::protocol {
namespace {

constexpr std::array<std::uint16_t, 256> make_table() {
  std::array<std::uint16_t, 256> table{};
  for (unsigned value = 0; value < table.size(); ++value) {
    unsigned crc = value << 8;
    for (int bit = 0; bit < 8; ++bit) {
      crc = (crc & 0x8000U) != 0 ? (crc << 1 ^ 0x1021U) : crc << 1;
    }
    table[value] = static_cast<std::uint16_t>(crc & 0xFFFFU);
  }
  return table;
}

constexpr auto table = make_table();

}  // namespace

std::uint16_t crc16(ByteView bytes) {
  unsigned crc = 0xFFFF;
  for (const std::uint8_t byte : bytes) {
    crc = (crc << 8 & 0xFFFFU) ^ table[(crc >> 8 ^ byte) & 0xFFU];
  }
  return static_cast<std::uint16_t>(crc);
}

}  // namespace catwalk::protocol
