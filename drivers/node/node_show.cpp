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

}  // namespace

std::string shown(const EmulatedNode& node, Moment now) {
  const protocol::Reading r = node.reading(now);
  return node.uid().text() + " gain=" + decimal(r.settings.gain_cdb, 100) +
         "dB filter=" + std::to_string(r.settings.filter) +
         " centre=" + decimal(r.settings.centre_hz, 1'000'000) +
         "MHz power=" + (r.settings.power ? "on" : "off") + " label=\"" + r.settings.label +
         "\" powered=" + yes_or_no(r.telemetry.powered) +
         " local=" + yes_or_no(r.telemetry.locally_changed) +
         " locating=" + yes_or_no(r.telemetry.locating) +
         " boots=" + std::to_string(r.telemetry.boots) + " epoch=" + std::to_string(r.epoch.value) +
         " staged=" + std::to_string(r.staged.value) +
         " applied=" + std::to_string(r.applied.value) +
         " address=" + std::to_string(node.address().value);
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
