// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/other_node.hpp"

#include "daemon/rack/levels/chain_stages.hpp"

namespace catwalk::rack {

OtherNode::OtherNode(const plan::RackPlan& plan, const plan::Segment& segment,
                     const plan::Node& node, const std::optional<plan::Settings>& settings)
    : plan_{&plan}, node_{&node}, carriers_{carriers_at(plan, segment, node)} {
  if (!settings) return;
  gain_ = settings->gain;
  filter_ = node.datasheet->tuned(*settings);
}

rf::Branch OtherNode::at(rf::Frequency frequency) const {
  std::vector<rf::Stage> stages;
  append(stages, node_->lead, frequency);
  if (filter_)
    append_node(stages, *node_->datasheet, gain_, filter_->attenuation(frequency));
  else
    stages.push_back(passive_node(*node_->datasheet));
  if (node_->feed) append(stages, *node_->feed, frequency);
  const auto whole = rf::cascade(stages);
  return {whole.gain,
          rf::with_external_noise(whole.noise_figure, plan_->external_noise(frequency))};
}

}  // namespace catwalk::rack
