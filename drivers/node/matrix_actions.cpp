// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/matrix_actions.hpp"

#include <algorithm>
#include <utility>

#include "daemon/base/overloaded.hpp"
#include "drivers/line/bad_word.hpp"
#include "drivers/node/node_actions.hpp"

namespace catwalk::drivers {
namespace {

std::optional<std::uint8_t> parse_number_of(std::string_view text, std::size_t most) {
  const auto number = parse_scaled(text, 1, 1, static_cast<double>(most));
  return number ? std::optional{static_cast<std::uint8_t>(*number)} : std::nullopt;
}

// "1+3+12", or "none".
std::optional<std::uint32_t> parse_inputs(std::string_view text) {
  if (text == "none") return 0;
  std::uint32_t inputs = 0;
  for (;;) {
    const auto end = std::min(text.find('+'), text.size());
    const auto input = parse_number_of(text.substr(0, end), protocol::most_inputs);
    if (!input) return std::nullopt;
    inputs |= std::uint32_t{1} << (*input - 1);
    if (end == text.size()) return inputs;
    text.remove_prefix(end + 1);
  }
}

std::string at_input(const EmulatedNode& node, std::string_view what) {
  return "node " + node.uid().text() + ": " + std::string{what};
}

std::optional<std::string> turned(EmulatedNode& node, const protocol::MatrixSettings& settings) {
  const auto refusal = node.turn(settings);
  if (!refusal) return std::nullopt;
  return at_input(node, protocol::sentence_of(refusal->reason));
}

}  // namespace

Result<MatrixAction, std::string> parse_matrix_action(protocol::NodeUid node,
                                                      const std::vector<std::string_view>& words) {
  const auto verb = words[0];
  const auto number = parse_number_of(words[2], protocol::most_inputs);
  if (!number) return bad(verb == "route" ? "output" : "input", words[2], "1 to 32");
  const auto value = words[3];
  if (verb == "route") {
    const auto inputs = parse_inputs(value);
    if (!inputs) return bad("inputs", value, "none, or numbers from 1 to 32 such as 1+3");
    return MatrixAction{TurnRoute{node, *number, *inputs}};
  }
  if (verb == "trim") {
    const auto trim = parse_scaled(without_unit(value, "dB"), 100, -327.68, 327.67);
    if (!trim) return bad("trim", value, "-327.68 to 327.67 dB, two decimals at most");
    return MatrixAction{TurnTrim{node, *number, static_cast<std::int16_t>(*trim)}};
  }
  if (verb == "supply") {
    if (value == "off") return MatrixAction{TurnSupply{node, *number, 0}};
    const auto volts = parse_scaled(without_unit(value, "V"), 1'000, 0.001, 65.535);
    if (!volts) return bad("supply", value, "off, or 0.001 to 65.535 V");
    return MatrixAction{TurnSupply{node, *number, static_cast<std::uint16_t>(*volts)}};
  }
  if (verb == "plug") {
    if (value == "none") return MatrixAction{Plug{node, *number, std::nullopt}};
    const auto whose = protocol::NodeUid::parse(value);
    if (!whose) return bad("uid", value, "none, or a uid such as 7a10-0000002f");
    return MatrixAction{Plug{node, *number, *whose}};
  }
  if (verb == "short") {
    const auto on = parse_switch(value);
    if (!on) return bad("short", value, "on or off");
    return MatrixAction{ShortCircuit{node, *number, *on}};
  }
  const auto level = parse_scaled(without_unit(value, "dBm"), 100, -327.68, 327.67);
  if (!level) return bad("level", value, "-327.68 to 327.67 dBm, two decimals at most");
  return MatrixAction{ComeIn{node, *number, static_cast<std::int16_t>(*level)}};
}

std::optional<std::string> perform(EmulatedNode& node, const MatrixAction& action) {
  const auto* type = std::get_if<MatrixType>(&node.type().can);
  if (type == nullptr) return at_input(node, "it is no matrix");
  const auto* route = std::get_if<TurnRoute>(&action);
  const std::size_t number = route != nullptr ? route->output
                                              : std::visit(
                                                    [](const auto& one) -> std::size_t {
                                                      if constexpr (requires { one.input; })
                                                        return one.input;
                                                      else
                                                        return one.output;
                                                    },
                                                    action);
  const std::size_t most = route != nullptr ? type->outputs : type->inputs;
  if (number > most)
    return at_input(node, std::string{route != nullptr ? "output " : "input "} +
                              std::to_string(number) + ": allowed 1 to " + std::to_string(most));
  auto settings = node.matrix_settings();
  return std::visit(Overloaded{[&](const TurnRoute& a) {
                                 settings.outputs[number - 1] = a.inputs;
                                 return turned(node, settings);
                               },
                               [&](const TurnTrim& a) {
                                 settings.inputs[number - 1].trim_cdb = a.cdb;
                                 return turned(node, settings);
                               },
                               [&](const TurnSupply& a) {
                                 settings.inputs[number - 1].supply_mv = a.millivolts;
                                 return turned(node, settings);
                               },
                               [&](const Plug& a) -> std::optional<std::string> {
                                 node.socket(number).plugged = a.whose;
                                 return std::nullopt;
                               },
                               [&](const ShortCircuit& a) -> std::optional<std::string> {
                                 node.socket(number).shorted = a.on;
                                 return std::nullopt;
                               },
                               [&](const ComeIn& a) -> std::optional<std::string> {
                                 node.socket(number).level_cdbm = a.cdbm;
                                 return std::nullopt;
                               }},
                    action);
}

namespace {

// Of what is plugged in and is emulated elsewhere: that is drawn, and it does not notice its
// supply.
constexpr std::uint16_t drawn_elsewhere_ma = 120;

bool is_plugged_anywhere(const std::vector<EmulatedNode*>& nodes, protocol::NodeUid whose) {
  for (EmulatedNode* matrix : nodes)
    for (std::size_t input = 1; input <= matrix->inputs().size(); ++input)
      if (matrix->socket(input).plugged == whose) return true;
  return false;
}

// Nothing comes up a cable that hangs loose.
void let_go(Socket& socket, const std::vector<EmulatedNode*>& nodes) {
  const auto was = std::exchange(socket.was_plugged, socket.plugged);
  if (!was || was == socket.plugged) return;
  socket.feeds.reset();
  if (is_plugged_anywhere(nodes, *was)) return;
  for (EmulatedNode* node : nodes)
    if (node->uid() == *was && !node->is_matrix() && node->is_powered()) node->cut_power();
}

}  // namespace

void settle_supplies(const std::vector<EmulatedNode*>& nodes, Moment now) {
  for (EmulatedNode* matrix : nodes) {
    const auto* type = std::get_if<MatrixType>(&matrix->type().can);
    if (type == nullptr) continue;
    for (std::size_t input = 1; input <= type->inputs; ++input) {
      auto& socket = matrix->socket(input);
      let_go(socket, nodes);
      const auto plugged = std::ranges::find_if(nodes, [&](const EmulatedNode* node) {
        return socket.plugged == node->uid() && !node->is_matrix();
      });
      const std::uint16_t given = matrix->is_powered()
                                      ? matrix->matrix_settings().inputs[input - 1].supply_mv
                                      : std::uint16_t{0};
      std::uint16_t drawn = 0;
      if (plugged != nodes.end()) {
        EmulatedNode& amplifier = **plugged;
        const bool fed = given != 0 && !socket.shorted;
        if (fed) amplifier.set_supply(given);
        const bool starts = socket.feeds ? !*socket.feeds : !amplifier.is_powered();
        if (fed && starts) amplifier.restore_power(now);
        if (!fed && amplifier.is_powered()) amplifier.cut_power();
        socket.feeds = fed;
        if (fed) drawn = amplifier.drawn(now);
      } else {
        socket.feeds.reset();
        if (socket.plugged && given != 0 && !socket.shorted) drawn = drawn_elsewhere_ma;
      }
      const bool limited = given != 0 && (socket.shorted || drawn > type->most_ma);
      matrix->find_at_input(
          input, {type->measures_current, type->measures_level, limited,
                  type->measures_current ? (limited ? type->most_ma : drawn) : std::uint16_t{0},
                  type->measures_level ? socket.level_cdbm : std::int16_t{0}});
    }
  }
}

}  // namespace catwalk::drivers
