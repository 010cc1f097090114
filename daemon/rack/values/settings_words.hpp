// SPDX-License-Identifier: Apache-2.0
#pragma once
// Settings of a node of whatever kind as they stand in sentences. Those of an amplifier alone:
// wording.hpp.

#include <string>

#include "daemon/plan/device.hpp"
#include "daemon/plan/node_settings.hpp"

namespace catwalk::rack {

// "3+7"; "nothing"
std::string in_words(const plan::Inputs& inputs);
// "12 V", "9.5 V"; "off" for 0
std::string supply_in_words(std::uint16_t millivolts);
// Of a matrix what is set at all: "output 1 takes 3+7; input 3: trim -4.5 dB, supply 12 V".
std::string in_words(const plan::NodeSettings& settings, const plan::Device& device);
// What `now` has other than `wanted`: "output 1 takes 3+7 (wanted 3)". Precondition: they differ.
std::string differences(const plan::NodeSettings& now, const plan::NodeSettings& wanted,
                        const plan::Device& device);
// Of an amplifier from where to where; of a matrix, which has hundreds of settings, what moves:
// "output 1: 3 → 3+7; input 3 supply: off → 12 V".
std::string move_in_words(const plan::NodeSettings& before, const plan::NodeSettings& after,
                          const plan::Device& device);

}  // namespace catwalk::rack
