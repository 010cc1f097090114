// SPDX-License-Identifier: Apache-2.0
#pragma once
// Open Sound Control 1.0 packets to and from bytes, by liblo; the frame of a bundle is read here,
// since liblo opens bundles inside of its own server only.
//
//   a message   /catwalk/go␀ ,s␀␀ finale␀␀
//   a bundle    #bundle␀ <time tag, 8 bytes> {<size, 4 bytes> <message or bundle>} …
//
// A packet is read whole or not at all. What a message holds beyond i f s h d c t S T F N I makes
// the message unread, as OSC 1.0 asks for; blobs among them. A message that ends with its address,
// as old senders write one without arguments, has none.

#include <cstddef>
#include <string_view>
#include <vector>

#include "daemon/base/result.hpp"
#include "daemon/control/osc_packet.hpp"
#include "protocol/bytes.hpp"

namespace catwalk::control {

// Bytes. Ours to choose: a command and its reasons are far below.
inline constexpr std::size_t longest_packet = 8'192;
// Messages of all bundles in a packet together.
inline constexpr std::size_t most_messages = 64;
// Bundles in bundles; the outermost counts.
inline constexpr int deepest_bundle = 4;

// Why a packet is none: a part of a sentence.
struct Malformed {
  std::string_view why;
};

Result<Packet, Malformed> read_packet(protocol::ByteView bytes);

protocol::Bytes write_message(const Message& message);
// With the time tag "immediately".
protocol::Bytes write_bundle(const std::vector<Message>& messages);

}  // namespace catwalk::control
