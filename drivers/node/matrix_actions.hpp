// SPDX-License-Identifier: Apache-2.0
#pragma once
// What hands do to an emulated matrix, and to what is plugged into it. As words: node_actions.hpp.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daemon/base/result.hpp"
#include "drivers/node/emulated_node.hpp"

namespace catwalk::drivers {

struct TurnRoute {
  protocol::NodeUid node;
  std::uint8_t output = 1;   // from 1
  std::uint32_t inputs = 0;  // as MatrixSettings::outputs
};
struct TurnTrim {
  protocol::NodeUid node;
  std::uint8_t input = 1;  // from 1
  std::int16_t cdb = 0;
};
struct TurnSupply {
  protocol::NodeUid node;
  std::uint8_t input = 1;
  std::uint16_t millivolts = 0;  // 0: off
};
struct Plug {
  protocol::NodeUid node;
  std::uint8_t input = 1;
  std::optional<protocol::NodeUid> whose;  // nothing: the cable is out
};
struct ShortCircuit {
  protocol::NodeUid node;
  std::uint8_t input = 1;
  bool on = true;
};
struct ComeIn {
  protocol::NodeUid node;
  std::uint8_t input = 1;
  std::int16_t cdbm = 0;
};

using MatrixAction = std::variant<TurnRoute, TurnTrim, TurnSupply, Plug, ShortCircuit, ComeIn>;

// Precondition: the verb is one of these, with the words that it takes.
Result<MatrixAction, std::string> parse_matrix_action(protocol::NodeUid node,
                                                      const std::vector<std::string_view>& words);

// A sentence: why it cannot be done to this node.
std::optional<std::string> perform(EmulatedNode& node, const MatrixAction& action);

// What is plugged where has come to: amplifiers at a matrix among these get and lose their supply,
// its inputs find the current that they draw. To be called after anything that was done to a node.
void settle_supplies(const std::vector<EmulatedNode*>& nodes, Moment now);

}  // namespace catwalk::drivers
