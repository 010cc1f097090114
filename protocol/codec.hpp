// SPDX-License-Identifier: Apache-2.0
#pragma once
// Packets as bytes and back. Layouts: PROTOCOL.md, section 4. All integers in network order.
//
//   version(1) = 0x01 | address(1) | sequence(1) | type(1) | body(0 to 56)

#include <optional>
#include <string>

#include "daemon/base/result.hpp"
#include "daemon/base/words.hpp"
#include "protocol/bytes.hpp"
#include "protocol/message.hpp"

namespace catwalk::protocol {

constexpr std::uint8_t packet_version = 0x01;
constexpr std::size_t packet_header_size = 4;
constexpr std::size_t uid_size = 6;
// The longest packet is a reading, or a report, with a full label; a full part is as long.
constexpr std::size_t longest_packet = 60;

// Requests 0x01 to 0x3F, replies 0x40 to 0x7F.
enum class MessageType : std::uint8_t {
  identify = 0x01,
  read = 0x02,
  stage = 0x03,
  apply = 0x04,
  discard = 0x05,
  store = 0x06,
  locate = 0x07,
  find = 0x08,
  mute = 0x09,
  unmute = 0x0A,
  assign = 0x0B,
  reclaim = 0x0C,
  ask_controller = 0x0D,
  ask_kind = 0x0E,
  read_part = 0x0F,
  stage_part = 0x10,
  identity = 0x41,
  reading = 0x42,
  done = 0x43,
  found = 0x44,
  controller_heard = 0x45,
  kind = 0x46,
  matrix_reading = 0x47,
  part = 0x48,
  report = 0x60,
  matrix_report = 0x61,
  wait = 0x7E,
  refusal = 0x7F,
};
// "identify", "matrix_reading"; as PROTOCOL.md has them, whose numbers leave gaps.
constexpr auto message_names() {
  using enum MessageType;
  return WordTable<MessageType, 28>{{{"identify", identify},
                                     {"read", read},
                                     {"stage", stage},
                                     {"apply", apply},
                                     {"discard", discard},
                                     {"store", store},
                                     {"locate", locate},
                                     {"find", find},
                                     {"mute", mute},
                                     {"unmute", unmute},
                                     {"assign", assign},
                                     {"reclaim", reclaim},
                                     {"ask_controller", ask_controller},
                                     {"ask_kind", ask_kind},
                                     {"read_part", read_part},
                                     {"stage_part", stage_part},
                                     {"identity", identity},
                                     {"reading", reading},
                                     {"done", done},
                                     {"found", found},
                                     {"controller_heard", controller_heard},
                                     {"kind", kind},
                                     {"matrix_reading", matrix_reading},
                                     {"part", part},
                                     {"report", report},
                                     {"matrix_report", matrix_report},
                                     {"wait", wait},
                                     {"refusal", refusal}}};
}
MessageType type_of(const Message& message);

enum class ParseCode {
  too_short,  // ends before a field that must be there
  too_long,   // more than longest_packet bytes
  version_unknown,
  address_invalid,  // not 0, 1 to 247 or 255; or one that this field may not hold
  type_unknown,
  length_wrong,  // the length byte of a text points past the end
  text_too_long,
  text_invalid,    // not UTF-8, or control characters in it; a type that is not printable ASCII
  bool_invalid,    // neither 0 nor 1
  prefix_invalid,  // more than 48 bits, or bits set past the prefix
  uid_invalid,     // all ones, where one node is meant
  ticket_invalid,  // zero, where a ticket is needed
  value_invalid,   // a wait of 0, a refusal reason that does not exist
  trailing_bytes,
};
constexpr auto words_of(ParseCode) {
  using enum ParseCode;
  return WordTable<ParseCode, 14>{{{"too short", too_short},
                                   {"too long", too_long},
                                   {"version unknown", version_unknown},
                                   {"address invalid", address_invalid},
                                   {"type unknown", type_unknown},
                                   {"length wrong", length_wrong},
                                   {"text too long", text_too_long},
                                   {"text invalid", text_invalid},
                                   {"bool invalid", bool_invalid},
                                   {"prefix invalid", prefix_invalid},
                                   {"uid invalid", uid_invalid},
                                   {"ticket invalid", ticket_invalid},
                                   {"value invalid", value_invalid},
                                   {"trailing bytes", trailing_bytes}}};
}
using catwalk::name_of;

struct ParseError {
  ParseCode code = ParseCode::too_short;
  std::size_t offset = 0;  // of the field at fault, from the start of the packet
  std::string sentence;    // "stage: power is 7, allowed 0 or 1 (byte 19)"
};

// Total: it never fails. A packet whose values the wire cannot carry (a label of 17 bytes, a ticket
// of zero) gives bytes that decode() refuses, and decode(encode(p)) is the test for that.
Bytes encode(const Packet& packet);

// Accepts exactly what encode() makes of a valid packet: encode(decode(bytes)) == bytes.
Result<Packet, ParseError> decode(ByteView bytes);

// The header alone, for answering a packet whose body cannot be read. Nothing if it is too short,
// of another version, or its address is invalid.
std::optional<Header> header_of(ByteView bytes);

// Is this the type number of a request, known or not?
constexpr bool is_request_type(std::uint8_t type) { return type >= 0x01 && type <= 0x3F; }

}  // namespace catwalk::protocol
