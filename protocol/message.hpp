// SPDX-License-Identifier: Apache-2.0
#pragma once
// Every message of the node protocol as a value. PROTOCOL.md gives their bytes, codec.hpp turns one
// into the other. A request may be repeated at any time: repeating it never acts twice.

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>

#include "protocol/bytes.hpp"
#include "protocol/values.hpp"

namespace catwalk::protocol {

// ---- requests: controller to node -------------------------------------------------------------

struct Identify {
  friend bool operator==(const Identify&, const Identify&) = default;
};

struct Read {
  friend bool operator==(const Read&, const Read&) = default;
};

// Keeps settings ready beside those in force. A second stage replaces the first. Tickets are not
// zero, and a controller uses each only once in an epoch.
struct Stage {
  Epoch epoch;
  Ticket ticket;
  Settings settings;
  friend bool operator==(const Stage&, const Stage&) = default;
};

// Puts the staged settings in force if they carry this ticket. Broadcast: no node answers.
struct Apply {
  Epoch epoch;
  Ticket ticket;
  friend bool operator==(const Apply&, const Apply&) = default;
};

struct Discard {
  Epoch epoch;
  Ticket ticket;
  friend bool operator==(const Discard&, const Discard&) = default;
};

// Keeps the settings in force across a loss of power.
struct Store {
  Epoch epoch;
  friend bool operator==(const Store&, const Store&) = default;
};

// Blinks the node's lamp for so many seconds; 0 stops it.
struct Locate {
  std::uint8_t seconds = 0;
  friend bool operator==(const Locate&, const Locate&) = default;
};

// Asks every unmuted node whose mixed uid (discovery.hpp) starts with these bits to answer.
// Answers may collide: that is how a crowded branch is told from an empty one.
struct Find {
  std::uint8_t prefix_bits = 0;  // 0 to 48
  std::uint64_t prefix = 0;      // left-aligned in 48 bits; bits past prefix_bits are zero
  friend bool operator==(const Find&, const Find&) = default;
};

// The node with this uid stops answering Find until Unmute or a restart. Broadcast, yet it answers.
struct Mute {
  NodeUid uid;
  friend bool operator==(const Mute&, const Mute&) = default;
};

struct Unmute {
  friend bool operator==(const Unmute&, const Unmute&) = default;
};

// Gives the node with this uid a short address, kept across power loss. Broadcast, yet it answers.
struct Assign {
  NodeUid uid;
  Address address;
  friend bool operator==(const Assign&, const Assign&) = default;
};

// The node obeys this epoch from now on, although it has heard a higher one: the way back for a
// node whose epoch no controller can speak under any more. Only for a node with a key, and only
// with the proof of whoever has it (reclaim.hpp).
struct Reclaim {
  Epoch epoch;              // to be the highest that it has heard
  Epoch highest;            // what it says it has heard
  std::uint32_t boots = 0;  // what it says how often it has started: no recording works twice
  Proof proof{};
  friend bool operator==(const Reclaim&, const Reclaim&) = default;
};

// Whom does the node obey, and when did it last hear of it? Datagrams only; a controller that comes
// as a visitor, under no session, changes nothing by asking.
struct AskController {
  friend bool operator==(const AskController&, const AskController&) = default;
};

// What is it: an amplifier, a matrix? Since version 1.1; before, refused as unknown.
struct AskKind {
  friend bool operator==(const AskKind&, const AskKind&) = default;
};

// What does not fit into one packet goes in parts, counted from 0. All but the last are full.
constexpr std::size_t largest_staged_part = 45;  // bytes
constexpr std::size_t largest_read_part = 50;    // bytes
constexpr std::uint8_t most_parts = 19;          // of the largest settings of a matrix

// What parts there are to be read.
enum class PartsOf : std::uint8_t {
  settings = 1,  // those in force
  inputs = 2,    // what each input measures
};

struct ReadPart {
  PartsOf of = PartsOf::settings;
  std::uint8_t part = 0;
  friend bool operator==(const ReadPart&, const ReadPart&) = default;
};

// Stage, of settings that come in parts, in their order. The first replaces what was staged before;
// the last completes them, and they are checked whole.
struct StagePart {
  Epoch epoch;
  Ticket ticket;
  std::uint8_t part = 0;   // below parts
  std::uint8_t parts = 1;  // 1 to most_parts
  Bytes bytes;             // 1 to largest_staged_part
  friend bool operator==(const StagePart&, const StagePart&) = default;
};

using Request = std::variant<Identify, Read, Stage, Apply, Discard, Store, Locate, Find, Mute,
                             Unmute, Assign, Reclaim, AskController, AskKind, ReadPart, StagePart>;

// ---- replies: node to controller --------------------------------------------------------------

struct Identity {
  NodeUid uid;
  Address address;
  std::uint32_t boots = 0;
  std::uint16_t firmware = 0;  // major in the high byte, minor in the low
  std::string type;            // names the datasheet; at most longest_type bytes
  friend bool operator==(const Identity&, const Identity&) = default;
};

// The answer to Stage, Apply, Discard, Store, Locate, Mute, Assign and Reclaim.
struct Done {
  friend bool operator==(const Done&, const Done&) = default;
};

struct Found {
  NodeUid uid;
  Address address;
  friend bool operator==(const Found&, const Found&) = default;
};

// Not yet: ask the same again after so many units of 10 ms. 1 to 255.
struct Wait {
  std::uint8_t tens_of_ms = 1;
  friend bool operator==(const Wait&, const Wait&) = default;
};

enum class RefusalReason : std::uint8_t {
  unknown_message = 1,
  malformed = 2,
  gain_out_of_range = 3,
  gain_off_step = 4,
  filter_unknown = 5,
  centre_out_of_range = 6,
  centre_off_step = 7,
  ticket_unknown = 8,  // nothing is staged under this ticket
  epoch_too_low = 9,   // detail: the epoch the node has heard
  storage_failed = 10,
  session_unknown = 11,  // datagrams only; detail: the node's session, to be used from now on
  ticket_used = 12,      // this ticket was applied already in this epoch, with other settings
  proof_wrong = 13,   // reclaim: not proved for what it has heard; detail: the epoch it has heard
  part_unknown = 14,  // detail: read, how many there are; stage, the one that is next
  route_impossible = 15,   // detail: the output, from 1
  trim_out_of_range = 16,  // detail: the input, from 1
  trim_off_step = 17,      // likewise
  supply_impossible = 18,  // likewise: it cannot give this voltage
};
constexpr std::uint8_t last_refusal_reason = 18;

struct Refusal {
  RefusalReason reason = RefusalReason::unknown_message;
  std::uint32_t detail = 0;
  friend bool operator==(const Refusal&, const Refusal&) = default;
};

// A reading that nobody asked for: sent in datagrams after a change at the node, and as a
// heartbeat.
struct Report {
  Reading reading;
  friend bool operator==(const Report&, const Report&) = default;
};

// The answer to AskController.
struct ControllerHeard {
  // Not in this life of the node, or longer ago than the number holds.
  static constexpr std::uint32_t never = 0xFFFFFFFF;
  Epoch epoch;                   // the highest epoch or session heard; 0: none
  std::uint32_t ago_ms = never;  // since a datagram under it came last
  friend bool operator==(const ControllerHeard&, const ControllerHeard&) = default;
};

enum class NodeKind : std::uint8_t { amplifier = 1, matrix = 2 };

// The answer to AskKind.
struct Kind {
  std::uint8_t minor = 1;  // it speaks version 1.minor; at least 1
  NodeKind kind = NodeKind::amplifier;
  std::uint8_t inputs = 0;  // of a matrix 1 to 32; else 0
  std::uint8_t outputs = 0;
  friend bool operator==(const Kind&, const Kind&) = default;
};

// The answer to ReadPart.
struct Part {
  PartsOf of = PartsOf::settings;
  std::uint16_t settings_number = 0;  // as MatrixReading has it, at the moment of this answer
  std::uint8_t part = 0;              // below parts
  std::uint8_t parts = 1;             // 1 to most_parts
  Bytes bytes;                        // 1 to largest_read_part
  friend bool operator==(const Part&, const Part&) = default;
};

// As Report, of a matrix.
struct MatrixReport {
  MatrixReading reading;
  friend bool operator==(const MatrixReport&, const MatrixReport&) = default;
};

using Reply = std::variant<Identity, Reading, Done, Found, Wait, Refusal, Report, ControllerHeard,
                           Kind, MatrixReading, Part, MatrixReport>;

using Message = std::variant<Request, Reply>;

// What ties a reply to its request. A retry carries the sequence of the first try.
struct Header {
  Address address;  // of the node, in both directions; unused (0) in datagrams
  std::uint8_t sequence = 0;
  friend bool operator==(const Header&, const Header&) = default;
};

struct Packet {
  Header header;
  Message message;
  friend bool operator==(const Packet&, const Packet&) = default;
};

// "identify", "stage", "refusal"; for logs and errors.
std::string_view name_of(const Message& message);
// "the gain is out of the node's range"
std::string_view sentence_of(RefusalReason reason);

}  // namespace catwalk::protocol
