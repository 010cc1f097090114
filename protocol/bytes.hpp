// SPDX-License-Identifier: Apache-2.0
#pragma once
// Integers in network order (most significant byte first), written to and read from bytes.

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace catwalk::protocol {

using Bytes = std::vector<std::uint8_t>;
using ByteView = std::span<const std::uint8_t>;

// Appends the lowest `width` bytes of the value. width: 1 to 8.
inline void put(Bytes& out, std::uint64_t value, std::size_t width) {
  for (std::size_t i = width; i > 0; --i) {
    out.push_back(static_cast<std::uint8_t>(value >> (8 * (i - 1)) & 0xFF));
  }
}

// Appends how many there are, in one byte, and then they. The count is cut to that byte: whoever
// reads them refuses the rest as too much.
template <class Chars>
void put_counted(Bytes& out, const Chars& chars) {
  put(out, chars.size() & 0xFF, 1);
  out.insert(out.end(), chars.begin(), chars.end());
}

// Precondition: offset + width is within the bytes; width: 1 to 8.
inline std::uint64_t get(ByteView bytes, std::size_t offset, std::size_t width) {
  std::uint64_t value = 0;
  for (const std::uint8_t byte : bytes.subspan(offset, width)) value = value << 8 | byte;
  return value;
}

}  // namespace catwalk::protocol
