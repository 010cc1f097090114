// SPDX-License-Identifier: Apache-2.0
#pragma once
// What comes to a receiver past the routes, by the finite isolation of a matrix: past-the-routes.
//
// From an input that the output does not take:
//   level there, before its trim | less the isolation of inputs | as at each input that is taken
// From another output of the same unit:
//   level there | less the isolation of outputs | as at this one
// Powers add: nobody knows the phases. Levels are the strongest, as for overload and blocking.

#include <vector>

#include "daemon/plan/matrix.hpp"
#include "daemon/rack/rules/rules.hpp"

namespace catwalk::rack {

// A carrier that comes stronger past the routes than by them, and with which a receiver's weakest
// wanted carrier would not be its protection ratio above (in the channel with what overlaps it,
// beside it less the receiver's rejection; no rejection known: not counted), or that overloads the
// receiver. At most one for each branch, the worst. Of a matrix as the plan has it routed.
std::vector<Finding> check_leaks(const Surroundings& around, const plan::Matrix& matrix);

}  // namespace catwalk::rack
