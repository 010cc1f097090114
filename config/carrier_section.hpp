// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "carriers" of a segment.

#include <vector>

#include "config/rack_facts.hpp"
#include "config/reader.hpp"
#include "daemon/plan/segment.hpp"

namespace catwalk::config {

constexpr std::size_t most_carriers = 512;  // in a segment

// Puts each carrier in the place of that of the same name, or at the end.
void read_carriers(const Cursor& at, const RackFacts& rack, std::vector<plan::Carrier>& carriers);

}  // namespace catwalk::config
