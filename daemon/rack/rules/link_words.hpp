// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is said of a link beside its margin: who stands where the receiver hears beside its channel,
// and why so much is wanted.

#include <string>

#include "daemon/plan/limits.hpp"
#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// "99 % of the time by one antenna"; of the availability that is wanted.
std::string availability_in_words(double availability, int antennas);

// "image (-42.800 MHz)", "+21.400 MHz"
std::string in_words(const plan::SpuriousResponse& response);

// What to do about what one transmitter makes of another's carrier, into this one's channel.
std::string apart_in_words(const NodePhysics::MadeOutside& made, const plan::Carrier& channel,
                           rf::Decibel missing);
// The same of what another antenna's amplifiers make before a combiner.
std::string apart_in_words(const TunedNode::Brought& made, const plan::Carrier& channel,
                           rf::Decibel missing);

// Whose rejection leaves most of it, of those that reach the antenna; null: nobody's does.
// Precondition: the receiver's input is known, and how it blocks.
const plan::Carrier* loudest_blocker(const NodePhysics& physics, const CarrierBudget& served);

// Ends the sentence of a finding on a link: ", most of it by guest-2 at the image …"; "; 20.0 dB
// over that are wanted, for 99 % of the time by one antenna". `tuned` and `gain` are what the
// budget was made of.
void end_link_sentence(Finding& finding, const plan::Limits& limits, const TunedNode& tuned,
                       rf::Gain gain, const CarrierBudget& served);

}  // namespace catwalk::rack
