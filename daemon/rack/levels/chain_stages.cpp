// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/chain_stages.hpp"

#include <algorithm>

#include "daemon/base/overloaded.hpp"

namespace catwalk::rack {

rf::Stage stage_of(const plan::ChainPart& part, rf::Frequency at) {
  return std::visit(
      Overloaded{[at](const plan::CablePiece& cable) {
                   const auto& valid = cable.type->valid;
                   const auto loss =
                       rf::plain::cable_loss(*cable.type, cable.length,
                                             std::clamp(at, valid.low, valid.high)) +
                       rf::plain::connectors_loss(cable.connectors, cable.connector_loss);
                   return rf::passive_stage({}, loss);
                 },
                 [](const plan::FixedLoss& fixed) { return rf::passive_stage({}, fixed.loss); },
                 [](const plan::Splitter& splitter) {
                   return rf::passive_stage(
                       {}, rf::plain::splitter_loss(splitter.ways, splitter.excess_loss));
                 },
                 [](const plan::RackAmplifier& amplifier) {
                   return rf::Stage{{},
                                    amplifier.gain,
                                    amplifier.noise_figure,
                                    amplifier.output_ip3,
                                    amplifier.output_p1db,
                                    amplifier.output_ip5};
                 }},
      part);
}

void append(std::vector<rf::Stage>& stages, const plan::Chain& chain, rf::Frequency at) {
  for (const auto& part : chain) stages.push_back(stage_of(part, at));
}

rf::Stage amplifier_of(const plan::Datasheet& sheet, rf::Gain gain) {
  return {{},
          rf::Decibel::of(gain),
          sheet.noise_figure(gain),
          sheet.output_ip3(gain),
          sheet.output_p1db(gain),
          sheet.output_ip5(gain)};
}

void append_node(std::vector<rf::Stage>& stages, const plan::Datasheet& sheet, rf::Gain gain,
                 rf::Decibel filter_attenuation) {
  const bool filter_first = sheet.filter_position == plan::FilterPosition::before_amplifier;
  const auto filter = rf::passive_stage({}, filter_attenuation);
  if (filter_first) stages.push_back(filter);
  stages.push_back(amplifier_of(sheet, gain));
  if (!filter_first) stages.push_back(filter);
}

rf::Stage passive_node(const plan::Datasheet& sheet) {
  return rf::passive_stage({}, rf::Decibel::of(sheet.passive_loss_db));
}

std::vector<const plan::RackAmplifier*> amplifiers_of(
    std::initializer_list<const plan::Chain*> chains) {
  std::vector<const plan::RackAmplifier*> amplifiers;
  for (const auto* parts : chains)
    for (const auto& part : *parts)
      if (const auto* amplifier = std::get_if<plan::RackAmplifier>(&part))
        amplifiers.push_back(amplifier);
  return amplifiers;
}

void append_to_feed(std::vector<rf::Stage>& stages, const plan::Node& node,
                    const std::optional<plan::Settings>& settings,
                    const std::optional<plan::TunedFilter>& filter, rf::Frequency at) {
  append(stages, node.lead, at);
  if (filter)
    append_node(stages, *node.datasheet, settings->gain, filter->attenuation(at));
  else
    stages.push_back(passive_node(*node.datasheet));
  if (node.feed) append(stages, *node.feed, at);
}

rf::Stage front_end(const plan::ReceiverInput& input) {
  return {{}, {}, input.noise_figure, input.input_ip3, {}};
}

plan::CablePiece* longest_cable(plan::Chain& chain) {
  plan::CablePiece* longest = nullptr;
  for (auto& part : chain) {
    auto* cable = std::get_if<plan::CablePiece>(&part);
    if (cable != nullptr && (longest == nullptr || cable->length > longest->length))
      longest = cable;
  }
  return longest;
}

}  // namespace catwalk::rack
