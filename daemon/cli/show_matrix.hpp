// SPDX-License-Identifier: Apache-2.0
#pragma once
// Matrices as people read them.

#include <string>

#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

std::string show_matrices(const Json& matrices, bool colour);
// What ends at its inputs, and who hears what at its outputs.
std::string show_matrix(const Json& matrix, bool colour);

}  // namespace catwalk::cli
