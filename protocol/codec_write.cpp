// SPDX-License-Identifier: Apache-2.0
// Messages to bytes. codec_read.cpp has the other direction.

#include <type_traits>

#include "daemon/base/overloaded.hpp"
#include "protocol/codec.hpp"

namespace catwalk::protocol {
namespace {

void put_flag(Bytes& out, bool flag) { out.push_back(flag ? 1 : 0); }

void put_settings(Bytes& out, const Settings& settings) {
  put(out, static_cast<std::uint16_t>(settings.gain_cdb), 2);
  put(out, settings.filter, 1);
  put(out, settings.centre_hz, 4);
  put_flag(out, settings.power);
  put_counted(out, settings.label);
}

// What readings of all kinds of nodes begin with; only an amplifier has a detector.
template <class AReading>
void put_begin(Bytes& out, const AReading& reading) {
  put(out, reading.epoch.value, 4);
  put(out, reading.staged.value, 4);
  put(out, reading.applied.value, 4);
  const Telemetry& t = reading.telemetry;
  put(out, t.supply_mv, 2);
  put(out, t.supply_ma, 2);
  put(out, static_cast<std::uint16_t>(t.temperature_ddegc), 2);
  if constexpr (std::is_same_v<AReading, Reading>)
    put(out, static_cast<std::uint16_t>(t.detector_cdbm), 2);
  put(out, t.uptime_s, 4);
  put(out, t.boots, 4);
  put_flag(out, t.powered);
  put_flag(out, t.locally_changed);
  put_flag(out, t.locating);
}

void put_reading(Bytes& out, const Reading& reading) {
  put_begin(out, reading);
  put_settings(out, reading.settings);
}

void put_matrix_reading(Bytes& out, const MatrixReading& reading) {
  put_begin(out, reading);
  put(out, reading.settings_number, 2);
  put(out, reading.settings_parts, 1);
}

void put_part(Bytes& out, std::uint8_t part, std::uint8_t parts, const Bytes& bytes) {
  put(out, part, 1);
  put(out, parts, 1);
  put_counted(out, bytes);
}

// The body of each message, field by field, as PROTOCOL.md has it.
struct Body {
  Bytes& out;

  void operator()(const Identify&) const {}
  void operator()(const Read&) const {}
  void operator()(const Stage& m) const {
    ticket(m.epoch, m.ticket);
    put_settings(out, m.settings);
  }
  void operator()(const Apply& m) const { ticket(m.epoch, m.ticket); }
  void operator()(const Discard& m) const { ticket(m.epoch, m.ticket); }
  void operator()(const Store& m) const { put(out, m.epoch.value, 4); }
  void operator()(const Locate& m) const { put(out, m.seconds, 1); }
  void operator()(const Find& m) const {
    put(out, m.prefix_bits, 1);
    put(out, m.prefix, uid_size);
  }
  void operator()(const Mute& m) const { put(out, m.uid.bits(), uid_size); }
  void operator()(const Unmute&) const {}
  void operator()(const Assign& m) const { place(m.uid, m.address); }
  void operator()(const Reclaim& m) const {
    put(out, m.epoch.value, 4);
    put(out, m.highest.value, 4);
    put(out, m.boots, 4);
    out.insert(out.end(), m.proof.begin(), m.proof.end());
  }
  void operator()(const AskController&) const {}
  void operator()(const AskKind&) const {}
  void operator()(const ReadPart& m) const {
    put(out, static_cast<std::uint8_t>(m.of), 1);
    put(out, m.part, 1);
  }
  void operator()(const StagePart& m) const {
    ticket(m.epoch, m.ticket);
    put_part(out, m.part, m.parts, m.bytes);
  }
  void operator()(const Identity& m) const {
    place(m.uid, m.address);
    put(out, m.boots, 4);
    put(out, m.firmware, 2);
    put_counted(out, m.type);
  }
  void operator()(const Reading& m) const { put_reading(out, m); }
  void operator()(const Done&) const {}
  void operator()(const Found& m) const { place(m.uid, m.address); }
  void operator()(const Wait& m) const { put(out, m.tens_of_ms, 1); }
  void operator()(const Refusal& m) const {
    put(out, static_cast<std::uint8_t>(m.reason), 1);
    put(out, m.detail, 4);
  }
  void operator()(const Report& m) const { put_reading(out, m.reading); }
  void operator()(const ControllerHeard& m) const {
    put(out, m.epoch.value, 4);
    put(out, m.ago_ms, 4);
  }
  void operator()(const Kind& m) const {
    put(out, m.minor, 1);
    put(out, static_cast<std::uint8_t>(m.kind), 1);
    put(out, m.inputs, 1);
    put(out, m.outputs, 1);
  }
  void operator()(const MatrixReading& m) const { put_matrix_reading(out, m); }
  void operator()(const Part& m) const {
    put(out, static_cast<std::uint8_t>(m.of), 1);
    put(out, m.settings_number, 2);
    put_part(out, m.part, m.parts, m.bytes);
  }
  void operator()(const MatrixReport& m) const { put_matrix_reading(out, m.reading); }

 private:
  void ticket(Epoch epoch, Ticket ticket) const {
    put(out, epoch.value, 4);
    put(out, ticket.value, 4);
  }
  void place(NodeUid uid, Address address) const {
    put(out, uid.bits(), uid_size);
    put(out, address.value, 1);
  }
};

void put_body(Bytes& out, const Message& message) {
  std::visit([&](const auto& side) { std::visit(Body{out}, side); }, message);
}

}  // namespace

MessageType type_of(const Message& message) {
  const Overloaded type{
      [](const Identify&) { return MessageType::identify; },
      [](const Read&) { return MessageType::read; },
      [](const Stage&) { return MessageType::stage; },
      [](const Apply&) { return MessageType::apply; },
      [](const Discard&) { return MessageType::discard; },
      [](const Store&) { return MessageType::store; },
      [](const Locate&) { return MessageType::locate; },
      [](const Find&) { return MessageType::find; },
      [](const Mute&) { return MessageType::mute; },
      [](const Unmute&) { return MessageType::unmute; },
      [](const Assign&) { return MessageType::assign; },
      [](const Reclaim&) { return MessageType::reclaim; },
      [](const AskController&) { return MessageType::ask_controller; },
      [](const AskKind&) { return MessageType::ask_kind; },
      [](const ReadPart&) { return MessageType::read_part; },
      [](const StagePart&) { return MessageType::stage_part; },
      [](const Identity&) { return MessageType::identity; },
      [](const Reading&) { return MessageType::reading; },
      [](const Done&) { return MessageType::done; },
      [](const Found&) { return MessageType::found; },
      [](const Wait&) { return MessageType::wait; },
      [](const Refusal&) { return MessageType::refusal; },
      [](const Report&) { return MessageType::report; },
      [](const ControllerHeard&) { return MessageType::controller_heard; },
      [](const Kind&) { return MessageType::kind; },
      [](const MatrixReading&) { return MessageType::matrix_reading; },
      [](const Part&) { return MessageType::part; },
      [](const MatrixReport&) { return MessageType::matrix_report; },
  };
  return std::visit([&](const auto& side) { return std::visit(type, side); }, message);
}

Bytes encode(const Packet& packet) {
  Bytes out;
  out.reserve(longest_packet);
  put(out, packet_version, 1);
  put(out, packet.header.address.value, 1);
  put(out, packet.header.sequence, 1);
  put(out, static_cast<std::uint8_t>(type_of(packet.message)), 1);
  put_body(out, packet.message);
  return out;
}

}  // namespace catwalk::protocol
