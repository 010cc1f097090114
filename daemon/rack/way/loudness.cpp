// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/loudness.hpp"

#include <algorithm>

namespace catwalk::rack {

std::vector<AmplifierOnTheWay> amplifiers_met(const plan::RackPlan& plan, const plan::Node& node) {
  const auto& sheet = *node.datasheet;
  std::vector<AmplifierOnTheWay> all{
      {nullptr, node.name.text, rf::milliwatts(rf::PowerLevel::dbm(sheet.output_p1db_dbm))}};
  const auto add = [&](const plan::Chain& chain) {
    for (const auto& part : chain) {
      const auto* amplifier = std::get_if<plan::RackAmplifier>(&part);
      if (amplifier == nullptr) continue;
      const bool known =
          std::ranges::find(all, amplifier, &AmplifierOnTheWay::in_rack) != all.end();
      if (!known)
        all.push_back(
            {amplifier, amplifier->name, rf::milliwatts(amplifier->output_p1db - amplifier->gain)});
    }
  };
  add(node.lead);
  if (!node.feed) return all;  // nothing behind it is known
  for (const auto& receiver : plan.receivers)
    for (const auto& branch : receiver.branches) {
      if (!branch.has(node.name)) continue;
      add(*node.feed);
      add(branch.arm_of(node.name).chain);
      add(branch.chain);
    }
  return all;
}

std::vector<double> loudness(const NodePhysics& physics,
                             const std::vector<AmplifierOnTheWay>& amplifiers,
                             const std::optional<plan::Settings>& settings) {
  std::vector<double> all(amplifiers.size(), 0.0);
  // Nothing comes through a node of which nothing is known; what is in its lead is there all the
  // same.
  const bool known = settings && physics.node().datasheet->reaches(*settings);
  const bool powered = known && settings->power;
  const auto loads = (known ? TunedNode{physics, *settings} : TunedNode::passive(physics)).loads();
  // A passive node's gain is counted in its loads already, and it has no amplifier of its own.
  const double by = !known ? 0.0 : powered ? rf::Decibel::of(settings->gain).ratio() : 1.0;
  const std::size_t first = powered ? 0 : 1;
  for (std::size_t i = 0; i < loads.amplifiers.size() && first + i < all.size(); ++i)
    all[first + i] = loads.amplifiers[i].power * by + loads.amplifiers[i].steady;
  // Held against the limit at the highest gain, whatever it is at this one.
  if (powered) all[0] *= amplifiers[0].p1db / loads.amplifiers[0].limit_at(settings->gain);
  return all;
}

}  // namespace catwalk::rack
