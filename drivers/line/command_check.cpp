// SPDX-License-Identifier: Apache-2.0
#include "drivers/line/command_check.hpp"

#include "protocol/codec.hpp"

namespace catwalk::drivers {

std::optional<protocol::Refusal> command_refusal(const Command& command) {
  using namespace protocol;
  const Request& request = command.request;
  const bool for_buses =
      std::holds_alternative<Find>(request) || std::holds_alternative<Mute>(request) ||
      std::holds_alternative<Unmute>(request) || std::holds_alternative<Assign>(request);
  const bool to_all = command.node == NodeUid::everyone();
  if (for_buses || (to_all && !std::holds_alternative<Apply>(request))) {
    return Refusal{RefusalReason::unknown_message, 0};
  }
  const auto decoded = decode(encode(Packet{{}, request}));
  if (!decoded) {
    return Refusal{RefusalReason::malformed, static_cast<std::uint32_t>(decoded.error().offset)};
  }
  return std::nullopt;
}

bool is_for_strangers(const protocol::Request& request) {
  return std::holds_alternative<protocol::Identify>(request) ||
         std::holds_alternative<protocol::Locate>(request);
}

}  // namespace catwalk::drivers
