// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/node_show.hpp"

#include <cstdlib>

namespace catwalk::drivers {
namespace {

// 650 of 100ths → "6.50". Exact, which a double would not be for every one.
std::string decimal(std::int64_t number, std::int64_t parts) {
  const std::string part = std::to_string(parts + std::abs(number % parts)).substr(1);
  return (number < 0 ? "-" : "") + std::to_string(std::abs(number / parts)) + "." + part;
}

std::string yes_or_no(bool is) { return is ? "yes" : "no"; }

// "1+3", as `route` takes it.
std::string inputs_in(std::uint32_t mask) {
  std::string text;
  for (std::size_t i = 0; i < protocol::most_inputs; ++i)
    if ((mask >> i & 1U) != 0) text += (text.empty() ? "" : "+") + std::to_string(i + 1);
  return text.empty() ? "none" : text;
}

std::string standing(const EmulatedNode& node, const auto& reading) {
  return " powered=" + yes_or_no(reading.telemetry.powered) +
         " local=" + yes_or_no(reading.telemetry.locally_changed) +
         " locating=" + yes_or_no(reading.telemetry.locating) +
         " boots=" + std::to_string(reading.telemetry.boots) +
         " epoch=" + std::to_string(reading.epoch.value) +
         " staged=" + std::to_string(reading.staged.value) +
         " applied=" + std::to_string(reading.applied.value) +
         " address=" + std::to_string(node.address().value);
}

}  // namespace

std::string shown(const EmulatedNode& node, Moment now) {
  if (!node.is_matrix()) {
    const protocol::Reading r = node.reading(now);
    return node.uid().text() + " gain=" + decimal(r.settings.gain_cdb, 100) +
           "dB filter=" + std::to_string(r.settings.filter) +
           " centre=" + decimal(r.settings.centre_hz, 1'000'000) +
           "MHz power=" + (r.settings.power ? "on" : "off") + " label=\"" + r.settings.label + '"' +
           standing(node, r);
  }
  const protocol::MatrixReading r = node.matrix_reading(now);
  const auto& settings = node.matrix_settings();
  std::string text = node.uid().text();
  for (std::size_t i = 0; i < settings.outputs.size(); ++i)
    text += " output-" + std::to_string(i + 1) + '=' + inputs_in(settings.outputs[i]);
  for (std::size_t i = 0; i < settings.inputs.size(); ++i) {
    const auto& input = settings.inputs[i];
    const auto& found = node.inputs()[i];
    text += " input-" + std::to_string(i + 1) + '=' + decimal(input.trim_cdb, 100) + "dB/" +
            (input.supply_mv == 0 ? "off" : decimal(input.supply_mv, 1'000) + 'V') + '/' +
            std::to_string(found.supply_ma) + "mA" + (found.limited ? "/limited" : "");
  }
  return text + " label=\"" + settings.label + '"' + standing(node, r);
}

Result<std::string, std::string> shown(const std::vector<EmulatedNode*>& nodes,
                                       std::string_view name, Moment now) {
  std::string lines;
  for (const EmulatedNode* node : nodes) {
    if (name != "all" && protocol::NodeUid::parse(name) != node->uid()) continue;
    lines.append(shown(*node, now)).append("\n");
  }
  if (lines.empty()) return Failure{"uid \"" + std::string{name} + "\": no such node here"};
  return lines;
}

}  // namespace catwalk::drivers
