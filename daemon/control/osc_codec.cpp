// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/osc_codec.hpp"

#include <lo/lo.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <memory>
#include <optional>
#include <type_traits>

#include "daemon/base/overloaded.hpp"

namespace catwalk::control {
namespace {

using protocol::Bytes;
using protocol::ByteView;

struct FreeMessage {
  void operator()(lo_message message) const { lo_message_free(message); }
};
using OwnedMessage = std::unique_ptr<std::remove_pointer_t<lo_message>, FreeMessage>;

struct FreeBundle {
  void operator()(lo_bundle bundle) const { lo_bundle_free_recursive(bundle); }
};
using OwnedBundle = std::unique_ptr<std::remove_pointer_t<lo_bundle>, FreeBundle>;

constexpr std::string_view read_types = "ifshdctSTFNI";
constexpr std::size_t unit = 4;  // everything in a packet fills whole units
constexpr std::array<std::uint8_t, 8> bundle_mark{'#', 'b', 'u', 'n', 'd', 'l', 'e', 0};
constexpr std::size_t bundle_head = 16;
constexpr std::size_t size_field = 4;

// Up to the first zero; nothing: there is none.
std::optional<std::string_view> text_at(ByteView bytes, std::size_t offset) {
  if (offset >= bytes.size()) return std::nullopt;
  const auto rest = bytes.subspan(offset);
  const auto end = std::ranges::find(rest, std::uint8_t{0});
  if (end == rest.end()) return std::nullopt;
  return std::string_view{reinterpret_cast<const char*>(rest.data()),
                          static_cast<std::size_t>(end - rest.begin())};
}

std::size_t padded(std::string_view text) { return (text.size() / unit + 1) * unit; }

// Not through lo_arg: liblo aligns arguments to 4 bytes, and lo_arg wants 8.
template <class T>
T value_at(const lo_arg* argument) {
  T value;
  std::memcpy(&value, argument, sizeof value);
  return value;
}

// `type`: one of read_types.
Argument argument_of(char type, const lo_arg* argument) {
  switch (type) {
    case 'i':
      return value_at<std::int32_t>(argument);
    case 'f':
      return value_at<float>(argument);
    case 'h':
      return value_at<std::int64_t>(argument);
    case 'd':
      return value_at<double>(argument);
    case 'c':
      return static_cast<char>(value_at<std::int32_t>(argument));
    case 't': {
      const auto tag = value_at<lo_timetag>(argument);
      return TimeTag{std::uint64_t{tag.sec} << 32 | tag.frac};
    }
    case 'T':
    case 'F':
      return type == 'T';
    case 'N':
      return Nil{};
    case 'I':
      return Infinitum{};
    default:
      return std::string{reinterpret_cast<const char*>(argument)};
  }
}

class Reader {
 public:
  // None: it is in `packet`.
  std::optional<Malformed> read(ByteView element, TimeTag when, int depth) {
    if (element.size() % unit != 0) return Malformed{"its size is no multiple of 4"};
    if (element.size() >= bundle_mark.size() &&
        std::ranges::equal(element.first(bundle_mark.size()), bundle_mark))
      return read_bundle(element, depth == 0 ? std::nullopt : std::optional{when}, depth + 1);
    return read_one(element, when);
  }

  Packet packet;

 private:
  // `outer`: the time tag of the bundle around it.
  std::optional<Malformed> read_bundle(ByteView bundle, std::optional<TimeTag> outer, int depth) {
    if (depth > deepest_bundle) return Malformed{"bundles are nested too deeply"};
    if (bundle.size() < bundle_head) return Malformed{"a bundle has no time tag"};
    const TimeTag when{protocol::get(bundle, bundle_mark.size(), 8)};
    // OSC 1.0: the time tag of the enclosed bundle must not be before that of the enclosing one.
    if (outer && when.bits < outer->bits)
      return Malformed{"a bundle is to be carried out before the one around it"};
    auto rest = bundle.subspan(bundle_head);
    while (!rest.empty()) {
      const auto size = rest.size() < size_field ? 0 : protocol::get(rest, 0, size_field);
      if (size == 0) return Malformed{"a bundle has an empty element"};
      rest = rest.subspan(size_field);
      if (size > rest.size()) return Malformed{"an element of a bundle is cut short"};
      if (auto wrong = read(rest.first(size), when, depth)) return wrong;
      rest = rest.subspan(size);
    }
    return std::nullopt;
  }

  std::optional<Malformed> read_one(ByteView element, TimeTag when) {
    if (packet.messages.size() + packet.unread == most_messages)
      return Malformed{"it holds too many messages"};
    const auto address = text_at(element, 0);
    if (!address || !address->starts_with('/')) return Malformed{"a message has no address"};
    Bytes copy{element.begin(), element.end()};
    if (element.size() == padded(*address)) copy.insert(copy.end(), {',', 0, 0, 0});
    const auto types = text_at(copy, padded(*address));
    if (!types || !types->starts_with(',')) return Malformed{"a message has no type tags"};
    // Before liblo sees it: its release 0.31 reads up to 4 bytes beyond a message that promises a
    // blob and ends. No address of ours takes one.
    if (types->find_first_not_of(read_types, 1) != std::string_view::npos) {
      ++packet.unread;
      return std::nullopt;
    }
    const OwnedMessage message{lo_message_deserialise(copy.data(), copy.size(), nullptr)};
    if (!message) return Malformed{"the arguments of a message are not what its type tags say"};
    TimedMessage read{when, {std::string{*address}, {}}};
    auto** const arguments = lo_message_get_argv(message.get());
    for (std::size_t i = 0; i + 1 < types->size(); ++i)
      read.message.arguments.push_back(argument_of((*types)[i + 1], arguments[i]));
    packet.messages.push_back(std::move(read));
    return std::nullopt;
  }
};

OwnedMessage to_lo(const Message& message) {
  OwnedMessage made{lo_message_new()};
  auto* const to = made.get();
  for (const auto& argument : message.arguments)
    std::visit(Overloaded{
                   [to](std::int32_t value) { lo_message_add_int32(to, value); },
                   [to](float value) { lo_message_add_float(to, value); },
                   [to](const std::string& value) { lo_message_add_string(to, value.c_str()); },
                   [to](std::int64_t value) { lo_message_add_int64(to, value); },
                   [to](double value) { lo_message_add_double(to, value); },
                   [to](bool value) { value ? lo_message_add_true(to) : lo_message_add_false(to); },
                   [to](char value) { lo_message_add_char(to, value); },
                   [to](TimeTag value) {
                     lo_message_add_timetag(to, {static_cast<std::uint32_t>(value.bits >> 32),
                                                 static_cast<std::uint32_t>(value.bits)});
                   },
                   [to](Nil) { lo_message_add_nil(to); },
                   [to](Infinitum) { lo_message_add_infinitum(to); },
               },
               argument);
  return made;
}

}  // namespace

Result<Packet, Malformed> read_packet(ByteView bytes) {
  if (bytes.empty()) return Failure{Malformed{"it is empty"}};
  if (bytes.size() > longest_packet) return Failure{Malformed{"it is too long"}};
  Reader reader;
  if (const auto wrong = reader.read(bytes, TimeTag::immediately(), 0)) return Failure{*wrong};
  return std::move(reader.packet);
}

Bytes write_message(const Message& message) {
  const auto made = to_lo(message);
  Bytes bytes(lo_message_length(made.get(), message.address.c_str()));
  lo_message_serialise(made.get(), message.address.c_str(), bytes.data(), nullptr);
  return bytes;
}

Bytes write_bundle(const std::vector<Message>& messages) {
  const OwnedBundle bundle{lo_bundle_new({0, 1})};
  for (const auto& message : messages)
    lo_bundle_add_message(bundle.get(), message.address.c_str(), to_lo(message).release());
  Bytes bytes(lo_bundle_length(bundle.get()));
  lo_bundle_serialise(bundle.get(), bytes.data(), nullptr);
  return bytes;
}

}  // namespace catwalk::control
