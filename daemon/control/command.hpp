// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a message to one of our addresses asks for. README.md beside this file has the table.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "daemon/base/result.hpp"
#include "daemon/control/osc_packet.hpp"
#include "daemon/plan/names.hpp"
#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::control {

struct AskPreview {
  plan::SegmentName segment;
};
struct Go {
  std::optional<plan::SegmentName> segment;  // absent: that of the next cue
};
struct Arm {
  std::optional<plan::CueName> cue;  // absent: the next one
};
struct Disarm {};
struct Abort {};
struct SetLock {
  bool locked = true;
};
struct Say {
  std::string text;
};
// The state goes to the address of the sender, and to this port there.
struct Subscribe {
  std::optional<std::uint16_t> port;  // absent: the one it was sent from
};
struct Unsubscribe {
  std::optional<std::uint16_t> port;
};
struct AskStatus {};
struct Ping {};

using Command = std::variant<AskPreview, Go, Arm, Disarm, Abort, SetLock, Say, Subscribe,
                             Unsubscribe, AskStatus, Ping>;

// The command; or, in a sentence, what is wrong with the address or with its arguments: the
// argument, its value, and what is allowed. Names are looked up in the snapshot. Addresses are
// compared as they are: patterns are not matched, so that one message asks for one thing.
Result<Command, std::string> command_of(const Message& message, const rack::Snapshot& snapshot);

// "go" for "/catwalk/go"; empty: no address of ours.
std::string_view name_in(std::string_view address);

}  // namespace catwalk::control
