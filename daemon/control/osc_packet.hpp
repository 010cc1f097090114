// SPDX-License-Identifier: Apache-2.0
#pragma once
// What an Open Sound Control 1.0 packet says, as values.

#include <cstddef>
#include <cstdint>
#include <string>
#include <variant>
#include <vector>

#include "daemon/control/time_tag.hpp"

namespace catwalk::control {

// Type tags "N" and "I": they carry no bytes.
struct Nil {
  friend bool operator==(const Nil&, const Nil&) = default;
};
struct Infinitum {
  friend bool operator==(const Infinitum&, const Infinitum&) = default;
};

// By type tag: i, f, s or S, h, d, T or F, c, t, N, I.
using Argument = std::variant<std::int32_t, float, std::string, std::int64_t, double, bool, char,
                              TimeTag, Nil, Infinitum>;

struct Message {
  std::string address;  // begins with a slash
  std::vector<Argument> arguments;
  friend bool operator==(const Message&, const Message&) = default;
};

struct TimedMessage {
  TimeTag when;  // of the bundle it stands in
  Message message;
  friend bool operator==(const TimedMessage&, const TimedMessage&) = default;
};

// Bundles within bundles laid flat, in the order in which they are written.
struct Packet {
  std::vector<TimedMessage> messages;
  // Messages left out since they have arguments of a type that we do not read.
  std::size_t unread = 0;
};

}  // namespace catwalk::control
