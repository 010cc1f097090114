// SPDX-License-Identifier: Apache-2.0
#pragma once
// Antennas that are summed on an output: sum-costs, sum-open-input, sum-of-sums, same-antenna.

#include <vector>

#include "daemon/plan/matrix.hpp"
#include "daemon/rack/rules/rules.hpp"

namespace catwalk::rack {

// Of a matrix as the plan has it set.
//
// A sum costs the better of two antennas: the other brings its noise too, and a port of the
// combiner. It is worth that if the other could be heard by itself, should the better one fail. So
// it is a caution where it costs more dB of margin than the best of the others has by itself, and
// at least 0.5 dB. Judged by noise; what amplifiers distort is told by their own rules.
std::vector<Finding> check_sums(const Surroundings& around, const plan::Matrix& matrix);

}  // namespace catwalk::rack
