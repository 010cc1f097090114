// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/isolation_rules.hpp"

#include <algorithm>

#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

bool has_loss(const plan::Carrier& carrier) {
  return carrier.use == plan::CarrierUse::receive && carrier.erp &&
         carrier.extra_loss > rf::Decibel{};
}

std::vector<Finding> about(const std::vector<const plan::Carrier*>& carriers,
                           const plan::NodeName& node, const std::string& where) {
  if (carriers.empty()) return {};
  Finding finding{Rule::link_margin, Severity::note, node, {}, {}, {}};
  rf::Decibel most;
  for (const auto* carrier : carriers) {
    finding.concerns.push_back(carrier->name.text);
    most = std::max(most, carrier->extra_loss);
  }
  finding.numbers = {decibels("extra loss", most)};
  finding.sentence = "A measured isolation wins over an extra loss: " + where + ", that of " +
                     listed(finding.concerns) + " (" + (carriers.size() == 1 ? "" : "up to ") +
                     in_words(most) + ") is not taken off the weakest level again.";
  return {std::move(finding)};
}

}  // namespace

std::vector<Finding> losses_left_out(const std::vector<CarrierAtAntenna>& carriers,
                                     const plan::Node& node) {
  std::vector<const plan::Carrier*> ones;
  for (const auto& carrier : carriers)
    if (carrier.served && has_loss(*carrier.carrier) &&
        carrier.carrier->isolations.contains(node.name))
      ones.push_back(carrier.carrier);
  return about(ones, node.name, "at " + node.name.text);
}

std::vector<Finding> losses_left_out(const plan::Segment& segment) {
  std::vector<const plan::Carrier*> ones;
  for (const auto& carrier : segment.carriers)
    if (has_loss(carrier) && !carrier.isolations.empty()) ones.push_back(&carrier);
  return about(ones, {}, "at the antennas it was measured to");
}

}  // namespace catwalk::rack
