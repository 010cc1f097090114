// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is said of a link beside its margin: why so much is wanted.

#include <string>

#include "daemon/plan/limits.hpp"
#include "daemon/rack/levels/budget.hpp"

namespace catwalk::rack {

// "99 % of the time by one antenna"; of the availability that is wanted.
std::string availability_in_words(double availability, int antennas);

// "; 20.0 dB over that are wanted, for 99 % of the time by one antenna". Empty where the limit of
// the link margin asks for more.
std::string wanted_in_words(const plan::Limits& limits, const CarrierBudget& served);

}  // namespace catwalk::rack
