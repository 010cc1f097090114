// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "receivers" of a rack file: their branches, and what is known of their inputs.

#include <vector>

#include "config/chain_section.hpp"
#include "config/matrix_section.hpp"
#include "config/rack_facts.hpp"

namespace catwalk::config {

// The receivers that have a name; what is wrong with them has been reported. `facts` receives their
// names, and knows the nodes already.
std::vector<plan::Receiver> read_receivers(const Cursor& at, const Cables& cables,
                                           MatrixSection& matrices, RackFacts& facts,
                                           std::vector<CableUse>& uses);

}  // namespace catwalk::config
