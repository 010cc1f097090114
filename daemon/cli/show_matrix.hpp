// SPDX-License-Identifier: Apache-2.0
#pragma once
// Matrices as people read them.

#include <string>

#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

std::string show_matrices(const Json& matrices, bool colour);
// What ends at its inputs, and who hears what at its outputs.
std::string show_matrix(const Json& matrix, bool colour);

bool is_of_matrix(const Json& settings);
// "output 3: 3 → 5, input 1 supply: off → 12 V": what differs between two settings of one.
std::string route_differences(const Json& before, const Json& after);

}  // namespace catwalk::cli
