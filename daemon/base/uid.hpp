// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who a node is.

#include <compare>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

namespace catwalk {

// A node's identity for life: 16 bits of maker and 32 bits of serial number, 48 bits in all.
// Written "7a10-0000002f". All ones is no node's identity: it addresses every node.
class NodeUid {
 public:
  static constexpr std::uint64_t mask = 0xFFFF'FFFF'FFFF;

  constexpr NodeUid() = default;
  constexpr NodeUid(std::uint16_t maker, std::uint32_t serial)
      : bits_{(std::uint64_t{maker} << 32) | serial} {}

  // Bits above the 48th are ignored.
  static constexpr NodeUid from_bits(std::uint64_t bits) {
    NodeUid uid;
    uid.bits_ = bits & mask;
    return uid;
  }
  static constexpr NodeUid everyone() { return from_bits(mask); }

  // "7a10-0000002f", upper or lower case; nothing for any other text.
  static std::optional<NodeUid> parse(std::string_view text);

  constexpr std::uint64_t bits() const { return bits_; }
  std::string text() const;

  friend constexpr auto operator<=>(const NodeUid&, const NodeUid&) = default;

 private:
  std::uint64_t bits_ = 0;
};

}  // namespace catwalk

template <>
struct std::hash<catwalk::NodeUid> {
  std::size_t operator()(const catwalk::NodeUid& uid) const noexcept {
    return std::hash<std::uint64_t>{}(uid.bits());
  }
};
