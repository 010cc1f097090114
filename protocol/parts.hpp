// SPDX-License-Identifier: Apache-2.0
#pragma once
// Bytes that do not fit into one packet: cut into parts, and put together again (PROTOCOL.md,
// section 4.4).

#include <algorithm>
#include <cstdint>
#include <optional>
#include <vector>

#include "protocol/bytes.hpp"
#include "protocol/message.hpp"

namespace catwalk::protocol {

constexpr std::size_t parts_of(std::size_t bytes, std::size_t largest) {
  return (bytes + largest - 1) / largest;
}

// Of these bytes; empty if there is no such part.
inline Bytes part_of(ByteView bytes, std::size_t part, std::size_t largest) {
  const auto first = std::min(part * largest, bytes.size());
  const auto piece = bytes.subspan(first, std::min(largest, bytes.size() - first));
  return {piece.begin(), piece.end()};
}

// Parts as they come, in their order.
class Parts {
 public:
  // True if it belongs here: the first, which begins anew; the next; or one that is there already,
  // with the same bytes. Preconditions: those of StagePart and Part.
  bool add(std::uint8_t part, std::uint8_t parts, std::size_t largest, const Bytes& bytes) {
    if (part == 0 && !(next_ > 0 && parts == parts_ && holds(part, largest, bytes))) {
      bytes_ = bytes;
      parts_ = parts;
      next_ = 1;
      return true;
    }
    if (parts != parts_ || part > next_ || part == parts_) return false;
    if (part < next_) return holds(part, largest, bytes);
    bytes_.insert(bytes_.end(), bytes.begin(), bytes.end());
    ++next_;
    return true;
  }

  std::uint8_t next() const { return next_; }
  bool complete() const { return next_ > 0 && next_ == parts_; }
  const Bytes& bytes() const { return bytes_; }

 private:
  bool holds(std::size_t part, std::size_t largest, const Bytes& bytes) const {
    return part_of(bytes_, part, largest) == bytes;
  }

  Bytes bytes_;
  std::uint8_t parts_ = 0;
  std::uint8_t next_ = 0;
};

}  // namespace catwalk::protocol
