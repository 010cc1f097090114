// SPDX-License-Identifier: Apache-2.0
#pragma once
// A packet in a datagram, proof against forgery and replay.
//
//   "CW"(2) | version(1) = 0x01 | direction(1) | uid(6) | session(4) | peer session(4) | counter(4)
//   | packet(4 to 60) | HMAC-SHA-256 over all before, its first 16 bytes
//
// session: of the sender. A controller's is its epoch, a node's is its boot count; both grow with
// every start. peer session: the receiver's as last heard, 0 if not known. counter: grows with
// every datagram to the same receiver within a session, from 1.
// HMAC: RFC 2104, truncated to 128 bits as its section 5 allows (no less than half the hash).

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "daemon/base/result.hpp"
#include "daemon/base/words.hpp"
#include "protocol/bytes.hpp"
#include "protocol/codec.hpp"
#include "protocol/values.hpp"

namespace catwalk::protocol {

constexpr std::size_t envelope_header_size = 22;
constexpr std::size_t mac_size = 16;
constexpr std::size_t shortest_datagram = envelope_header_size + packet_header_size + mac_size;
constexpr std::size_t longest_datagram = envelope_header_size + longest_packet + mac_size;

// A shared secret of 16 to 64 bytes; 32 random bytes are usual.
class Key {
 public:
  static constexpr std::size_t shortest = 16;
  static constexpr std::size_t longest = 64;

  // Nothing if the length is not allowed.
  static std::optional<Key> from_bytes(ByteView bytes);
  // Two digits a byte, upper or lower case; white space is skipped. Nothing for any other text.
  static std::optional<Key> from_hex(std::string_view text);

  ByteView bytes() const { return bytes_; }

 private:
  explicit Key(Bytes bytes) : bytes_{std::move(bytes)} {}
  Bytes bytes_;
};

using FullMac = std::array<std::uint8_t, 32>;
// HMAC-SHA-256 with a key of any length; exposed for its published test vectors.
FullMac hmac_sha256(ByteView key, ByteView message);

enum class Direction : std::uint8_t { to_node = 0, to_controller = 1 };

struct Envelope {
  Direction direction = Direction::to_node;
  NodeUid uid;  // of the node, in both directions
  std::uint32_t session = 0;
  std::uint32_t peer_session = 0;
  std::uint32_t counter = 0;
  friend bool operator==(const Envelope&, const Envelope&) = default;
};

struct Datagram {
  Envelope envelope;
  Bytes packet;  // not yet decoded
  friend bool operator==(const Datagram&, const Datagram&) = default;
};

Bytes seal(const Envelope& envelope, ByteView packet, const Key& key);

enum class OpenError { too_short, too_long, magic, version, direction, forged };
// "too short", "forged" …
constexpr auto words_of(OpenError) {
  using enum OpenError;
  return WordTable<OpenError, 6>{{{"too short", too_short},
                                  {"too long", too_long},
                                  {"not a datagram of this protocol", magic},
                                  {"version unknown", version},
                                  {"direction wrong", direction},
                                  {"forged", forged}}};
}
using catwalk::name_of;

// `expected`: the direction that the receiver is to hear; the other one is refused, so that a
// datagram cannot be sent back to who made it. Freshness is the business of ReplayWindow.
Result<Datagram, OpenError> open(ByteView bytes, Direction expected, const Key& key);

// The uid that a datagram claims, not proved by anything: for finding out whom to hand it to.
// Nothing if it is too short to have one.
std::optional<NodeUid> claimed_uid(ByteView bytes);

// What was seen from one sender. A higher session begins anew; a lower one is over. Within a
// session each counter is taken once, and not if it lies 64 or more behind the highest: the sliding
// window of RFC 4303, section 3.4.3.
class ReplayWindow {
 public:
  static constexpr std::uint32_t width = 64;

  enum class Verdict { fresh, replayed, too_old, session_over };

  ReplayWindow() = default;
  // Sessions below this one count as over, without one having been seen.
  explicit ReplayWindow(std::uint32_t lowest_session) : session_{lowest_session} {}

  // Call only for an authentic datagram. Fresh: it is now marked as seen.
  Verdict accept(std::uint32_t session, std::uint32_t counter);

  // The highest session heard; 0 before any.
  std::uint32_t session() const { return session_; }

 private:
  std::uint32_t session_ = 0;
  std::uint32_t highest_ = 0;
  std::uint64_t seen_ = 0;  // bit n: highest_ - n was seen
};
std::string_view name_of(ReplayWindow::Verdict verdict);

// Where nodes hear a search whose endpoints nobody knows (PROTOCOL.md, section 5).
constexpr std::array<std::uint8_t, 4> search_group{239, 192, 67, 87};
constexpr std::uint16_t usual_node_port = 7010;

}  // namespace catwalk::protocol
