// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/other_node.hpp"

#include "daemon/rack/levels/chain_stages.hpp"

namespace catwalk::rack {
namespace {

// In settings that its datasheet does not reach, and which it may say it is in, a passive one.
TunedNode tuned(const NodePhysics& physics, const std::optional<plan::Settings>& settings) {
  return settings && physics.node().datasheet->tuned(*settings) ? TunedNode{physics, *settings}
                                                                : TunedNode::passive(physics);
}

}  // namespace

OtherNode::OtherNode(const plan::RackPlan& plan, const plan::Segment& segment,
                     const plan::Node& node, const std::optional<plan::Settings>& settings)
    : plan_{&plan},
      physics_{std::make_unique<const NodePhysics>(NodePhysics::to_feed(plan, segment, node))},
      tuned_{tuned(*physics_, settings)} {
  if (!settings) return;
  gain_ = settings->gain;
  filter_ = node.datasheet->tuned(*settings);
}

rf::Branch OtherNode::at(rf::Frequency frequency) const {
  std::vector<rf::Stage> stages;
  append(stages, node().lead, frequency);
  if (filter_)
    append_node(stages, *node().datasheet, gain_, filter_->attenuation(frequency));
  else
    stages.push_back(passive_node(*node().datasheet));
  if (node().feed) append(stages, *node().feed, frequency);
  const auto whole = rf::cascade(stages);
  return {whole.gain,
          rf::with_external_noise(whole.noise_figure, plan_->external_noise(frequency))};
}

std::vector<double> OtherNode::products() const {
  const auto levels = tuned_.intermodulation_at(gain_);
  std::vector<double> all;
  auto level = levels.begin();
  for (const auto& carrier : physics_->carriers())
    all.push_back(carrier.served ? rf::milliwatts(*level++) : 0.0);
  return all;
}

std::vector<rf::Product> OtherNode::products_on(const plan::Carrier& channel) const {
  return tuned_.products({&channel}, gain_);
}

}  // namespace catwalk::rack
