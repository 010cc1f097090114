// SPDX-License-Identifier: Apache-2.0
#pragma once
// Random packets that the wire can carry, the same for the same dice.

#include <string>

#include "drivers/line/faults.hpp"
#include "protocol/matrix_codec.hpp"

namespace catwalk::test {

class RandomPackets {
 public:
  static constexpr std::size_t kinds = 28;

  explicit RandomPackets(std::uint64_t seed) : dice_{seed} {}

  // kind: 0 to kinds - 1, most of them in the order of the variants.
  protocol::Packet of_kind(std::size_t kind) {
    return {{any_header_address(), u8()}, message(kind)};
  }
  protocol::Packet any() { return of_kind(dice_.below(kinds)); }

  protocol::MatrixSettings matrix_settings() {
    protocol::MatrixSettings settings;
    settings.inputs.resize(1 + dice_.below(protocol::most_inputs));
    settings.outputs.resize(1 + dice_.below(protocol::most_outputs));
    const auto past = ~std::uint64_t{0} << settings.inputs.size();
    for (auto& output : settings.outputs) output = static_cast<std::uint32_t>(u32() & ~past);
    for (auto& input : settings.inputs) input = {i16(), u16(), label()};
    settings.label = label();
    return settings;
  }
  std::vector<protocol::InputMeasured> inputs() {
    std::vector<protocol::InputMeasured> inputs(1 + dice_.below(protocol::most_inputs));
    for (auto& input : inputs) input = {flag(), flag(), flag(), u16(), i16()};
    return inputs;
  }

  drivers::Dice& dice() { return dice_; }

 private:
  std::uint8_t u8() { return static_cast<std::uint8_t>(dice_.below(256)); }
  std::uint16_t u16() { return static_cast<std::uint16_t>(edge(0xFFFF)); }
  std::uint32_t u32() { return static_cast<std::uint32_t>(edge(0xFFFF'FFFF)); }
  std::int16_t i16() { return static_cast<std::int16_t>(u16()); }
  bool flag() { return dice_.below(2) == 1; }

  // Often at an end of the range, where mistakes live.
  std::uint64_t edge(std::uint64_t last) {
    switch (dice_.below(8)) {
      case 0:
        return 0;
      case 1:
        return last;
      case 2:
        return last / 2 + 1;
      default:
        return dice_.below(last) + dice_.below(2);
    }
  }

  protocol::Address node_address() { return {static_cast<std::uint8_t>(1 + dice_.below(247))}; }
  protocol::Address node_or_no_address() {
    return dice_.below(4) == 0 ? protocol::Address::unassigned() : node_address();
  }
  protocol::Address any_header_address() {
    return dice_.below(4) == 0 ? protocol::Address::broadcast() : node_or_no_address();
  }
  protocol::NodeUid uid() {
    return protocol::NodeUid::from_bits(dice_.below(protocol::NodeUid::mask));
  }
  protocol::Ticket ticket() { return {static_cast<std::uint32_t>(1 + dice_.below(0xFFFF'FFFF))}; }

  // Of characters of one to four bytes.
  std::string label() {
    static const std::string characters[] = {"a", "Z", "7", " ",  "~",
                                             "ü", "ß", "€", "京", "\U0001F3A4"};
    std::string text;
    const std::size_t length = dice_.below(protocol::longest_label + 1);
    while (true) {
      const std::string& next = characters[dice_.below(std::size(characters))];
      if (text.size() + next.size() > length) return text;
      text += next;
    }
  }
  std::string type() {
    std::string text;
    for (std::size_t n = 1 + dice_.below(protocol::longest_type); n > 0; --n) {
      text += static_cast<char>('!' + dice_.below('~' - '!' + 1));
    }
    return text;
  }
  protocol::Settings settings() { return {i16(), u8(), u32(), flag(), label()}; }
  protocol::Reading reading() {
    protocol::Reading r;
    r.epoch = {u32()};
    r.staged = {u32()};
    r.applied = {u32()};
    r.settings = settings();
    r.telemetry = {u16(), u16(), i16(), i16(), u32(), u32(), flag(), flag(), flag()};
    return r;
  }
  protocol::MatrixReading matrix_reading() {
    protocol::MatrixReading r;
    r.epoch = {u32()};
    r.staged = {u32()};
    r.applied = {u32()};
    r.telemetry = {u16(), u16(), i16(), 0, u32(), u32(), flag(), flag(), flag()};
    r.settings_number = u16();
    r.settings_parts = parts();
    return r;
  }
  protocol::PartsOf parts_of() { return static_cast<protocol::PartsOf>(1 + dice_.below(2)); }
  std::uint8_t parts() { return static_cast<std::uint8_t>(1 + dice_.below(protocol::most_parts)); }
  // All but the last are full.
  template <class HasParts>
  HasParts cut(HasParts into, std::size_t largest) {
    into.parts = parts();
    into.part = static_cast<std::uint8_t>(dice_.below(into.parts));
    into.bytes.resize(into.part + 1 < into.parts ? largest : 1 + dice_.below(largest));
    for (auto& byte : into.bytes) byte = u8();
    return into;
  }
  protocol::Kind any_kind() {
    const auto minor = static_cast<std::uint8_t>(1 + dice_.below(255));
    if (flag()) return {minor, protocol::NodeKind::amplifier, 0, 0};
    return {minor, protocol::NodeKind::matrix,
            static_cast<std::uint8_t>(1 + dice_.below(protocol::most_inputs)),
            static_cast<std::uint8_t>(1 + dice_.below(protocol::most_outputs))};
  }
  protocol::Find find() {
    const auto bits = static_cast<std::uint8_t>(dice_.below(49));
    const std::uint64_t past = bits == 48 ? 0 : protocol::NodeUid::mask >> bits;
    return {bits, uid().bits() & protocol::NodeUid::mask & ~past};
  }

  protocol::Reclaim reclaim() {
    protocol::Reclaim reclaim{
        {static_cast<std::uint32_t>(1 + dice_.below(0xFFFF'FFFF))}, {u32()}, u32(), {}};
    for (auto& byte : reclaim.proof) byte = u8();
    return reclaim;
  }

  protocol::Message message(std::size_t kind) {
    using namespace protocol;
    switch (kind) {
      case 0:
        return Request{Identify{}};
      case 1:
        return Request{Read{}};
      case 2:
        return Request{Stage{{u32()}, ticket(), settings()}};
      case 3:
        return Request{Apply{{u32()}, ticket()}};
      case 4:
        return Request{Discard{{u32()}, ticket()}};
      case 5:
        return Request{Store{{u32()}}};
      case 6:
        return Request{Locate{u8()}};
      case 7:
        return Request{find()};
      case 8:
        return Request{Mute{uid()}};
      case 9:
        return Request{Unmute{}};
      case 10:
        return Request{Assign{uid(), node_address()}};
      case 11:
        return Request{reclaim()};
      case 19:
        return Request{AskController{}};
      case 20:
        return Reply{ControllerHeard{{u32()}, u32()}};
      case 21:
        return Request{AskKind{}};
      case 22:
        return Request{ReadPart{parts_of(), static_cast<std::uint8_t>(dice_.below(most_parts))}};
      case 23:
        return Request{cut(StagePart{{u32()}, ticket(), 0, 1, {}}, largest_staged_part)};
      case 24:
        return Reply{any_kind()};
      case 25:
        return Reply{matrix_reading()};
      case 26:
        return Reply{cut(Part{parts_of(), u16(), 0, 1, {}}, largest_read_part)};
      case 27:
        return Reply{MatrixReport{matrix_reading()}};
      case 12:
        return Reply{Identity{uid(), node_or_no_address(), u32(), u16(), type()}};
      case 13:
        return Reply{reading()};
      case 14:
        return Reply{Done{}};
      case 15:
        return Reply{Found{uid(), node_or_no_address()}};
      case 16:
        return Reply{Wait{static_cast<std::uint8_t>(1 + dice_.below(255))}};
      case 17:
        return Reply{
            Refusal{static_cast<RefusalReason>(1 + dice_.below(last_refusal_reason)), u32()}};
      default:
        return Reply{Report{reading()}};
    }
  }

  drivers::Dice dice_;
};

}  // namespace catwalk::test
