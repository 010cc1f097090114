// SPDX-License-Identifier: Apache-2.0
#pragma once
// The pieces of a chain as stages that rf/cascade.hpp computes with, at one frequency. Stages have
// no names here: they are made by the thousand, and who explains them to a person names them.

#include <initializer_list>
#include <optional>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rf/cascade.hpp"

namespace catwalk::rack {

// A cable is computed at the nearest frequency for which its figures are valid.
rf::Stage stage_of(const plan::ChainPart& part, rf::Frequency at);
void append(std::vector<rf::Stage>& stages, const plan::Chain& chain, rf::Frequency at);

// The amplifier of a node at this gain, its filter not counted.
rf::Stage amplifier_of(const plan::Datasheet& sheet, rf::Gain gain);
// Filter and amplifier in the order of the datasheet: two stages.
void append_node(std::vector<rf::Stage>& stages, const plan::Datasheet& sheet, rf::Gain gain,
                 rf::Decibel filter_attenuation);
// A node without power: a plain passive antenna, no filter.
rf::Stage passive_node(const plan::Datasheet& sheet);
std::vector<const plan::RackAmplifier*> amplifiers_of(
    std::initializer_list<const plan::Chain*> chains);
// A node's whole way from its antenna's terminals to the end of its feed: passive without a filter,
// which stands for what Datasheet::tuned() says of these settings.
void append_to_feed(std::vector<rf::Stage>& stages, const plan::Node& node,
                    const std::optional<plan::Settings>& settings,
                    const std::optional<plan::TunedFilter>& filter, rf::Frequency at);

// The receiver's input as the last stage: 0 dB, its noise figure and intercept.
rf::Stage front_end(const plan::ReceiverInput& input);

// The longest piece of cable; null if there is none.
plan::CablePiece* longest_cable(plan::Chain& chain);

}  // namespace catwalk::rack
