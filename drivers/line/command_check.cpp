// SPDX-License-Identifier: Apache-2.0
#include "drivers/line/command_check.hpp"

#include "drivers/line/talk.hpp"
#include "protocol/codec.hpp"
#include "protocol/matrix_codec.hpp"

namespace catwalk::drivers {

std::optional<protocol::Refusal> command_refusal(const Command& command) {
  using namespace protocol;
  const Ask& request = command.request;
  const bool for_buses =
      std::holds_alternative<Find>(request) || std::holds_alternative<Mute>(request) ||
      std::holds_alternative<Unmute>(request) || std::holds_alternative<Assign>(request) ||
      std::holds_alternative<StagePart>(request) || std::holds_alternative<ReadPart>(request);
  const bool to_all = command.node == NodeUid::everyone();
  if (for_buses || (to_all && !std::holds_alternative<Apply>(request))) {
    return Refusal{RefusalReason::unknown_message, 0};
  }
  if (const auto* stage = std::get_if<StageMatrix>(&request)) {
    const auto settings = decode_matrix_settings(encode(stage->settings), Labels::plain);
    if (!settings)
      return Refusal{RefusalReason::malformed, static_cast<std::uint32_t>(settings.error().offset)};
  }
  const auto decoded = decode(encode(Packet{{}, Talk{request}.request()}));
  if (!decoded) {
    return Refusal{RefusalReason::malformed, static_cast<std::uint32_t>(decoded.error().offset)};
  }
  return std::nullopt;
}

bool is_for_strangers(const protocol::Ask& request) {
  return std::holds_alternative<protocol::Identify>(request) ||
         std::holds_alternative<protocol::Locate>(request);
}

}  // namespace catwalk::drivers
