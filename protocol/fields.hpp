// SPDX-License-Identifier: Apache-2.0
#pragma once
// How fields are taken out of bytes, one after the other, with a sentence about the first that is
// wrong.

#include <optional>
#include <string>
#include <string_view>

#include "protocol/codec.hpp"

namespace catwalk::protocol {

// A node that keeps a label with bad bytes is still there: what it shows is taken as it is, and
// made plain where it is used. What is to be set has to be right.
inline bool is_anything(std::string_view) { return true; }

// Takes fields one after the other. The first fault is kept; after it every field reads as zero,
// and nothing is read past the end.
class Fields {
 public:
  // `first`: where the first field begins; `whole` names what is read, for sentences.
  Fields(ByteView bytes, std::string_view whole, std::size_t first)
      : bytes_{bytes}, whole_{whole}, at_{first} {}

  void fail(ParseCode code, std::size_t offset, const std::string& what) {
    if (error_) return;
    error_ = ParseError{
        code, offset, std::string{whole_} + ": " + what + " (byte " + std::to_string(offset) + ")"};
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

  // The lowest where it is none of these.
  std::uint8_t u8_between(std::string_view name, std::uint8_t lowest, std::uint8_t highest) {
    const std::size_t value_at = at_;
    const auto value = u8(name);
    if (!error_ && (value < lowest || value > highest))
      fail(ParseCode::value_invalid, value_at,
           std::string{name} + " is " + std::to_string(value) + ", allowed " +
               std::to_string(lowest) + " to " + std::to_string(highest));
    return error_ ? lowest : value;
  }

  // A length, and so many bytes.
  Bytes bytes(std::string_view name, std::size_t fewest, std::size_t most) {
    const std::size_t length_at = at_;
    const std::size_t length = u8(name);
    if (error_) return {};
    if (length < fewest || length > most || bytes_.size() - at_ < length) {
      fail(ParseCode::length_wrong, length_at,
           std::string{name} + " claims " + std::to_string(length) + " bytes, allowed " +
               std::to_string(fewest) + " to " + std::to_string(most) + ", and " +
               std::to_string(bytes_.size() - at_) + " follow");
      return {};
    }
    const auto part = bytes_.subspan(at_, length);
    at_ += length;
    return {part.begin(), part.end()};
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
  bool failed() const { return error_.has_value(); }

  // Ends the reading: what is left over is a fault too.
  std::optional<ParseError> finish() {
    if (!error_ && at_ != bytes_.size()) {
      fail(ParseCode::trailing_bytes, at_, std::to_string(bytes_.size() - at_) + " bytes too many");
    }
    return error_;
  }

 private:
  ByteView bytes_;
  std::string_view whole_;
  std::size_t at_;
  std::optional<ParseError> error_;
};

}  // namespace catwalk::protocol
