// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/other_branch.hpp"

#include <algorithm>

#include "daemon/rack/levels/chain_stages.hpp"
#include "daemon/rf/external_noise.hpp"

namespace catwalk::rack {

OtherBranch::OtherBranch(const plan::RackPlan& plan, const plan::Segment& segment,
                         const plan::Receiver& receiver, const plan::Branch& branch,
                         const SettingsOf& others)
    : plan_{plan}, receiver_{receiver}, branch_{branch} {
  for (const auto& name : branch.nodes) {
    const auto* node = plan.find(name);
    if (node == nullptr || !node->feed) continue;
    Antenna antenna{node, others(name), {}, carriers_at(plan, segment, *node)};
    if (antenna.settings) antenna.filter = node->datasheet->tuned(*antenna.settings);
    antennas_.push_back(std::move(antenna));
  }
}

bool OtherBranch::hears(std::size_t carrier) const {
  return std::ranges::any_of(antennas_, [&](const Antenna& antenna) {
    const auto& arriving = antenna.carriers[carrier];
    return arriving.weakest && *arriving.weakest >= needed(antenna, *arriving.carrier);
  });
}

rf::Branch OtherBranch::to_combiner(const Antenna& antenna, rf::Frequency frequency) const {
  std::vector<rf::Stage> stages;
  append_to_feed(stages, *antenna.node, antenna.settings, antenna.filter, frequency);
  append(stages, branch_.arm_of(antenna.node->name).chain, frequency);
  const auto whole = rf::cascade(stages);
  return {whole.gain, rf::with_external_noise(whole.noise_figure, plan_.external_noise(frequency))};
}

// At its terminals, over noise alone.
rf::PowerLevel OtherBranch::needed(const Antenna& antenna, const plan::Carrier& carrier) const {
  const auto frequency = carrier.frequency;
  std::vector<rf::Stage> stages;
  append_to_feed(stages, *antenna.node, antenna.settings, antenna.filter, frequency);
  append(stages, branch_.arm_of(antenna.node->name).chain, frequency);
  if (branch_.nodes.size() > 1) {
    std::vector<rf::Branch> beside;
    for (const auto& other : antennas_)
      if (&other != &antenna) beside.push_back(to_combiner(other, frequency));
    const rf::Combiner combiner{static_cast<int>(branch_.nodes.size()),
                                branch_.combiner_excess_loss};
    stages.push_back(rf::plain::combiner_stage(beside, combiner));
  }
  append(stages, branch_.chain, frequency);
  stages.push_back(front_end(*receiver_.input));
  const auto figure =
      rf::with_external_noise(rf::cascade(stages).noise_figure, plan_.external_noise(frequency));
  return rf::thermal_noise(carrier.bandwidth) + figure +
         receiver_.input->needed_over_noise(carrier.bandwidth);
}

}  // namespace catwalk::rack
