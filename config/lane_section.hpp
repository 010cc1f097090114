// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "lanes" of a segment.

#include <vector>

#include "config/reader.hpp"
#include "daemon/plan/segment.hpp"

namespace catwalk::config {

constexpr std::size_t most_lanes = 128;  // in a segment

// Puts each lane in the place of that of the same name, or at the end. One that overlaps a lane of
// other purpose is reported, whether that one stood there before or is new.
void read_lanes(const Cursor& at, std::vector<plan::Lane>& lanes);

}  // namespace catwalk::config
