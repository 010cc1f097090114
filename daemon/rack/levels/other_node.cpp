// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/other_node.hpp"

#include "daemon/rack/levels/chain_stages.hpp"
#include "daemon/rack/levels/powers.hpp"

namespace catwalk::rack {

OtherNode::OtherNode(const plan::RackPlan& plan, const plan::Segment& segment,
                     const plan::Node& node, const plan::Chain& arm,
                     const std::optional<plan::Settings>& settings)
    : plan_{&plan},
      arm_{&arm},
      physics_{NodePhysics::to_combiner(plan, segment, node, arm)},
      settings_{settings} {
  if (settings) filter_ = node.datasheet->tuned(*settings);
  transmitter_noise_ = noise_density_of(physics_.carriers());
  // Its tables are as large as those of the node that it stands beside, and are given back at once.
  const auto levels = tuned().intermodulation_at(settings ? settings->gain : rf::Gain{});
  auto level = levels.begin();
  for (const auto& carrier : physics_.carriers()) {
    to_.push_back(at(carrier.carrier->frequency));
    arriving_.push_back(power_of(carrier.strongest, to_.back().gain));
    products_.push_back(carrier.served ? rf::milliwatts(*level++) : 0.0);
  }
}

// In settings that its datasheet does not reach, and which it may say it is in, a passive one.
TunedNode OtherNode::tuned() const {
  return filter_ ? TunedNode{physics_, *settings_} : TunedNode::passive(physics_);
}

rf::Branch OtherNode::at(rf::Frequency frequency) const {
  std::vector<rf::Stage> stages;
  append_to_feed(stages, node(), settings_, filter_, frequency);
  append(stages, *arm_, frequency);
  const auto whole = rf::cascade(stages);
  return {whole.gain,
          rf::with_external_noise(whole.noise_figure, plan_->external_noise(frequency))};
}

std::vector<rf::Product> OtherNode::products_on(const plan::Carrier& channel,
                                                std::size_t most) const {
  return tuned().products({&channel}, settings_ ? settings_->gain : rf::Gain{}, most);
}

}  // namespace catwalk::rack
