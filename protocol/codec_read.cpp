// SPDX-License-Identifier: Apache-2.0
// Bytes to messages. codec_write.cpp has the other direction.

#include "daemon/base/text.hpp"
#include "protocol/codec.hpp"

namespace catwalk::protocol {
namespace {

constexpr unsigned uid_bits = 48;

// Takes fields one after the other. The first fault is kept; after it every field reads as zero,
// and nothing is read past the end.
class Fields {
 public:
  Fields(ByteView bytes, std::string_view message) : bytes_{bytes}, message_{message} {}

  void fail(ParseCode code, std::size_t offset, const std::string& what) {
    if (error_) return;
    error_ =
        ParseError{code, offset,
                   std::string{message_} + ": " + what + " (byte " + std::to_string(offset) + ")"};
  }

  std::uint64_t number(std::size_t width, std::string_view name) {
    if (error_) return 0;
    if (bytes_.size() - at_ < width) {
      fail(ParseCode::too_short, bytes_.size(), "ends before the end of " + std::string{name});
      return 0;
    }
    const auto value = get(bytes_, at_, width);
    at_ += width;
    return value;
  }
  std::uint8_t u8(std::string_view name) { return static_cast<std::uint8_t>(number(1, name)); }
  std::uint16_t u16(std::string_view name) { return static_cast<std::uint16_t>(number(2, name)); }
  std::uint32_t u32(std::string_view name) { return static_cast<std::uint32_t>(number(4, name)); }
  std::int16_t i16(std::string_view name) { return static_cast<std::int16_t>(u16(name)); }

  bool flag(std::string_view name) {
    const auto value = u8(name);
    if (value > 1) {
      fail(ParseCode::bool_invalid, at_ - 1,
           std::string{name} + " is " + std::to_string(value) + ", allowed 0 or 1");
    }
    return value == 1;
  }

  std::string text(std::string_view name, std::size_t longest, bool (*allowed)(std::string_view)) {
    const std::size_t length_at = at_;
    const std::size_t length = u8(name);
    if (error_) return {};
    if (length > longest) {
      fail(ParseCode::text_too_long, length_at,
           std::string{name} + " has " + std::to_string(length) + " bytes, allowed up to " +
               std::to_string(longest));
      return {};
    }
    if (bytes_.size() - at_ < length) {
      fail(ParseCode::length_wrong, length_at,
           std::string{name} + " claims " + std::to_string(length) + " bytes, " +
               std::to_string(bytes_.size() - at_) + " follow");
      return {};
    }
    const auto part = bytes_.subspan(at_, length);
    std::string out(part.begin(), part.end());
    if (!allowed(out)) {
      fail(ParseCode::text_invalid, at_, std::string{name} + " holds bytes that are not allowed");
      return {};
    }
    at_ += length;
    return out;
  }

  NodeUid one_uid() {
    const std::size_t uid_at = at_;
    const auto uid = NodeUid::from_bits(number(uid_size, "uid"));
    if (uid == NodeUid::everyone()) fail(ParseCode::uid_invalid, uid_at, "uid names every node");
    return uid;
  }

  Ticket ticket() {
    const std::size_t ticket_at = at_;
    const Ticket ticket{u32("ticket")};
    if (!error_ && ticket.value == 0) {
      fail(ParseCode::ticket_invalid, ticket_at, "ticket is 0, allowed 1 to 4294967295");
    }
    return ticket;
  }

  // An address that a node may have: 1 to 247, and 255 where none was given to it yet.
  Address node_address(bool may_be_unassigned) {
    const std::size_t address_at = at_;
    const Address address{u8("address")};
    if (!error_ && !address.is_assignable() &&
        !(may_be_unassigned && address == Address::unassigned())) {
      fail(ParseCode::address_invalid, address_at,
           "address is " + std::to_string(address.value) + ", allowed 1 to 247" +
               (may_be_unassigned ? " or 255" : ""));
    }
    return address;
  }

  std::size_t at() const { return at_; }

  // Ends the reading: what is left over is a fault too.
  std::optional<ParseError> finish() {
    if (!error_ && at_ != bytes_.size()) {
      fail(ParseCode::trailing_bytes, at_, std::to_string(bytes_.size() - at_) + " bytes too many");
    }
    return error_;
  }

 private:
  ByteView bytes_;
  std::string_view message_;
  std::size_t at_ = packet_header_size;
  std::optional<ParseError> error_;
};

// A node that keeps a label with bad bytes is still there: what it shows is taken as it is, and
// made plain where it is used. What is to be set has to be right.
bool is_anything(std::string_view) { return true; }

Settings take_settings(Fields& in, bool (*allowed)(std::string_view)) {
  Settings settings;
  settings.gain_cdb = in.i16("gain");
  settings.filter = in.u8("filter");
  settings.centre_hz = in.u32("centre");
  settings.power = in.flag("power");
  settings.label = in.text("label", longest_label, allowed);
  return settings;
}

Reading take_reading(Fields& in) {
  Reading reading;
  reading.epoch.value = in.u32("epoch");
  reading.staged.value = in.u32("staged ticket");
  reading.applied.value = in.u32("applied ticket");
  Telemetry& t = reading.telemetry;
  t.supply_mv = in.u16("supply voltage");
  t.supply_ma = in.u16("supply current");
  t.temperature_ddegc = in.i16("temperature");
  t.detector_cdbm = in.i16("detector level");
  t.uptime_s = in.u32("uptime");
  t.boots = in.u32("boot count");
  t.powered = in.flag("powered");
  t.locally_changed = in.flag("locally changed");
  t.locating = in.flag("locating");
  reading.settings = take_settings(in, is_anything);
  return reading;
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
std::optional<Message> take_body(Fields& in, MessageType type) {
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
    case MessageType::report:
      return Reply{Report{take_reading(in)}};
    case MessageType::wait:
      return Reply{take_wait(in)};
    case MessageType::refusal:
      return Reply{take_refusal(in)};
  }
  return std::nullopt;
}

std::string_view name_of_type(MessageType type) {
  switch (type) {
    case MessageType::identify:
      return "identify";
    case MessageType::read:
      return "read";
    case MessageType::stage:
      return "stage";
    case MessageType::apply:
      return "apply";
    case MessageType::discard:
      return "discard";
    case MessageType::store:
      return "store";
    case MessageType::locate:
      return "locate";
    case MessageType::find:
      return "find";
    case MessageType::mute:
      return "mute";
    case MessageType::unmute:
      return "unmute";
    case MessageType::assign:
      return "assign";
    case MessageType::reclaim:
      return "reclaim";
    case MessageType::ask_controller:
      return "ask_controller";
    case MessageType::identity:
      return "identity";
    case MessageType::reading:
      return "reading";
    case MessageType::done:
      return "done";
    case MessageType::found:
      return "found";
    case MessageType::controller_heard:
      return "controller_heard";
    case MessageType::report:
      return "report";
    case MessageType::wait:
      return "wait";
    case MessageType::refusal:
      return "refusal";
  }
  return "";
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
  const auto name = name_of_type(type);
  if (name.empty()) {
    return refuse(ParseCode::type_unknown, 3, "type " + std::to_string(bytes[3]) + " is unknown");
  }
  if (bytes.size() > longest_packet) {
    return refuse(ParseCode::too_long, longest_packet,
                  std::to_string(bytes.size()) + " bytes, allowed up to 60");
  }
  Fields in{bytes, name};
  auto message = take_body(in, type);
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
