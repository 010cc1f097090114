// SPDX-License-Identifier: Apache-2.0
// Bytes to messages. codec_write.cpp has the other direction.

#include <algorithm>
#include <type_traits>

#include "daemon/base/text.hpp"
#include "protocol/codec.hpp"
#include "protocol/fields.hpp"

namespace catwalk::protocol {
namespace {

constexpr unsigned uid_bits = 48;

Settings take_settings(Fields& in, bool (*allowed)(std::string_view)) {
  Settings settings;
  settings.gain_cdb = in.i16("gain");
  settings.filter = in.u8("filter");
  settings.centre_hz = in.u32("centre");
  settings.power = in.flag("power");
  settings.label = in.text("label", longest_label, allowed);
  return settings;
}

// What readings of all kinds of nodes begin with; only an amplifier has a detector.
template <class AReading>
AReading take_begin(Fields& in) {
  AReading reading;
  reading.epoch.value = in.u32("epoch");
  reading.staged.value = in.u32("staged ticket");
  reading.applied.value = in.u32("applied ticket");
  Telemetry& t = reading.telemetry;
  t.supply_mv = in.u16("supply voltage");
  t.supply_ma = in.u16("supply current");
  t.temperature_ddegc = in.i16("temperature");
  if constexpr (std::is_same_v<AReading, Reading>) t.detector_cdbm = in.i16("detector level");
  t.uptime_s = in.u32("uptime");
  t.boots = in.u32("boot count");
  t.powered = in.flag("powered");
  t.locally_changed = in.flag("locally changed");
  t.locating = in.flag("locating");
  return reading;
}

Reading take_reading(Fields& in) {
  auto reading = take_begin<Reading>(in);
  reading.settings = take_settings(in, is_anything);
  return reading;
}

MatrixReading take_matrix_reading(Fields& in) {
  auto reading = take_begin<MatrixReading>(in);
  reading.settings_number = in.u16("settings number");
  reading.settings_parts = in.u8_between("settings parts", 1, most_parts);
  return reading;
}

PartsOf take_parts_of(Fields& in) {
  return static_cast<PartsOf>(in.u8_between("what", 1, static_cast<std::uint8_t>(PartsOf::inputs)));
}

// All parts but the last are full, so that there is one way only to cut the same bytes.
template <class HasParts>
void take_part(Fields& in, HasParts& into, std::size_t largest) {
  const std::size_t part_at = in.at();
  into.part = in.u8("part");
  into.parts = in.u8_between("parts", 1, most_parts);
  if (!in.failed() && into.part >= into.parts)
    in.fail(ParseCode::value_invalid, part_at,
            "part is " + std::to_string(into.part) + ", allowed 0 to " +
                std::to_string(into.parts - 1));
  const bool is_last = into.part + 1 == into.parts;
  into.bytes = in.bytes("bytes", is_last ? 1 : largest, largest);
}

StagePart take_stage_part(Fields& in) {
  StagePart stage;
  stage.epoch.value = in.u32("epoch");
  stage.ticket = in.ticket();
  take_part(in, stage, largest_staged_part);
  return stage;
}

Part take_read_part(Fields& in) {
  Part part;
  part.of = take_parts_of(in);
  part.settings_number = in.u16("settings number");
  take_part(in, part, largest_read_part);
  return part;
}

Kind take_kind(Fields& in) {
  Kind kind;
  kind.minor = in.u8_between("minor version", 1, 255);
  kind.kind =
      static_cast<NodeKind>(in.u8_between("kind", 1, static_cast<std::uint8_t>(NodeKind::matrix)));
  const bool routes = kind.kind == NodeKind::matrix;
  kind.inputs = in.u8_between("inputs", routes ? 1 : 0, routes ? most_inputs : 0);
  kind.outputs = in.u8_between("outputs", routes ? 1 : 0, routes ? most_outputs : 0);
  return kind;
}

Find take_find(Fields& in) {
  const std::size_t bits_at = in.at();
  Find find;
  find.prefix_bits = in.u8("prefix length");
  if (find.prefix_bits > uid_bits) {
    in.fail(ParseCode::prefix_invalid, bits_at,
            "prefix has " + std::to_string(find.prefix_bits) + " bits, allowed up to 48");
    return find;
  }
  const std::size_t prefix_at = in.at();
  find.prefix = in.number(uid_size, "prefix");
  const std::uint64_t past = NodeUid::mask >> find.prefix_bits;
  if (find.prefix_bits < uid_bits && (find.prefix & past) != 0) {
    in.fail(ParseCode::prefix_invalid, prefix_at, "bits are set past the end of the prefix");
  }
  return find;
}

Identity take_identity(Fields& in) {
  Identity identity;
  identity.uid = in.one_uid();
  identity.address = in.node_address(true);
  identity.boots = in.u32("boot count");
  identity.firmware = in.u16("firmware");
  identity.type = in.text("type", longest_type, is_type_text);
  return identity;
}

Reclaim take_reclaim(Fields& in) {
  Reclaim reclaim;
  const std::size_t epoch_at = in.at();
  reclaim.epoch.value = in.u32("epoch");
  if (reclaim.epoch.value == 0)
    in.fail(ParseCode::value_invalid, epoch_at, "epoch is 0, allowed 1 to 4294967295");
  reclaim.highest.value = in.u32("highest epoch");
  reclaim.boots = in.u32("boot count");
  for (auto& byte : reclaim.proof) byte = in.u8("proof");
  return reclaim;
}

Wait take_wait(Fields& in) {
  const std::size_t wait_at = in.at();
  const Wait wait{in.u8("wait")};
  if (wait.tens_of_ms == 0)
    in.fail(ParseCode::value_invalid, wait_at, "wait is 0, allowed 1 to 255");
  return wait;
}

Refusal take_refusal(Fields& in) {
  const std::size_t reason_at = in.at();
  const auto reason = in.u8("reason");
  if (reason == 0 || reason > last_refusal_reason) {
    in.fail(ParseCode::value_invalid, reason_at,
            "reason is " + std::to_string(reason) + ", allowed 1 to " +
                std::to_string(last_refusal_reason));
  }
  Refusal refusal;
  refusal.reason = static_cast<RefusalReason>(reason);
  refusal.detail = in.u32("detail");
  return refusal;
}

// Braces evaluate from left to right, which is the order on the wire.
std::optional<Message> take_request(Fields& in, MessageType type) {
  switch (type) {
    case MessageType::identify:
      return Request{Identify{}};
    case MessageType::read:
      return Request{Read{}};
    case MessageType::stage: {
      const Epoch epoch{in.u32("epoch")};
      const Ticket ticket = in.ticket();
      return Request{Stage{epoch, ticket, take_settings(in, is_plain_text)}};
    }
    case MessageType::apply:
      return Request{Apply{Epoch{in.u32("epoch")}, in.ticket()}};
    case MessageType::discard:
      return Request{Discard{Epoch{in.u32("epoch")}, in.ticket()}};
    case MessageType::store:
      return Request{Store{Epoch{in.u32("epoch")}}};
    case MessageType::locate:
      return Request{Locate{in.u8("seconds")}};
    case MessageType::find:
      return Request{take_find(in)};
    case MessageType::mute:
      return Request{Mute{in.one_uid()}};
    case MessageType::unmute:
      return Request{Unmute{}};
    case MessageType::assign:
      return Request{Assign{in.one_uid(), in.node_address(false)}};
    case MessageType::reclaim:
      return Request{take_reclaim(in)};
    case MessageType::ask_controller:
      return Request{AskController{}};
    case MessageType::ask_kind:
      return Request{AskKind{}};
    case MessageType::read_part: {
      const auto of = take_parts_of(in);
      return Request{ReadPart{of, in.u8_between("part", 0, most_parts - 1)}};
    }
    case MessageType::stage_part:
      return Request{take_stage_part(in)};
    default:
      return std::nullopt;
  }
}

std::optional<Message> take_reply(Fields& in, MessageType type) {
  switch (type) {
    case MessageType::identity:
      return Reply{take_identity(in)};
    case MessageType::reading:
      return Reply{take_reading(in)};
    case MessageType::done:
      return Reply{Done{}};
    case MessageType::found:
      return Reply{Found{in.one_uid(), in.node_address(true)}};
    case MessageType::controller_heard:
      return Reply{ControllerHeard{Epoch{in.u32("epoch")}, in.u32("ago")}};
    case MessageType::kind:
      return Reply{take_kind(in)};
    case MessageType::matrix_reading:
      return Reply{take_matrix_reading(in)};
    case MessageType::part:
      return Reply{take_read_part(in)};
    case MessageType::report:
      return Reply{Report{take_reading(in)}};
    case MessageType::matrix_report:
      return Reply{MatrixReport{take_matrix_reading(in)}};
    case MessageType::wait:
      return Reply{take_wait(in)};
    case MessageType::refusal:
      return Reply{take_refusal(in)};
    default:
      return std::nullopt;
  }
}

bool is_header_address(std::uint8_t address) {
  return Address{address}.is_assignable() || address == Address::broadcast().value ||
         address == Address::unassigned().value;
}

Failure<ParseError> refuse(ParseCode code, std::size_t offset, const std::string& what) {
  return Failure{
      ParseError{code, offset, "packet: " + what + " (byte " + std::to_string(offset) + ")"}};
}

}  // namespace

Result<Packet, ParseError> decode(ByteView bytes) {
  if (bytes.size() < packet_header_size) {
    return refuse(ParseCode::too_short, bytes.size(),
                  std::to_string(bytes.size()) + " bytes, a header has 4");
  }
  if (bytes[0] != packet_version) {
    return refuse(ParseCode::version_unknown, 0,
                  "version is " + std::to_string(bytes[0]) + ", known is 1");
  }
  if (!is_header_address(bytes[1])) {
    return refuse(ParseCode::address_invalid, 1,
                  "address is " + std::to_string(bytes[1]) + ", allowed 0 to 247 or 255");
  }
  const auto type = static_cast<MessageType>(bytes[3]);
  constexpr auto names = message_names();
  const auto* const named =
      std::ranges::find(names, type, [](const auto& each) { return each.second; });
  if (named == names.end()) {
    return refuse(ParseCode::type_unknown, 3, "type " + std::to_string(bytes[3]) + " is unknown");
  }
  if (bytes.size() > longest_packet) {
    return refuse(ParseCode::too_long, longest_packet,
                  std::to_string(bytes.size()) + " bytes, allowed up to 60");
  }
  Fields in{bytes, named->first, packet_header_size};
  auto message = is_request_type(bytes[3]) ? take_request(in, type) : take_reply(in, type);
  if (auto error = in.finish()) return Failure{std::move(*error)};
  return Packet{Header{Address{bytes[1]}, bytes[2]}, std::move(*message)};
}

std::optional<Header> header_of(ByteView bytes) {
  if (bytes.size() < packet_header_size || bytes[0] != packet_version ||
      !is_header_address(bytes[1])) {
    return std::nullopt;
  }
  return Header{Address{bytes[1]}, bytes[2]};
}

}  // namespace catwalk::protocol
