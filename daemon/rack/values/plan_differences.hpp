// SPDX-License-Identifier: Apache-2.0
#pragma once
// What two plans differ in, and what a segment has on the air, as the journal keeps it: a plan that
// is replaced is in no file any more. Pure.

#include <string>
#include <string_view>
#include <vector>

#include "daemon/plan/rack_plan.hpp"

namespace catwalk::rack {

// "speeches: guest-2 541.850 MHz, was 541.550 MHz": a sentence each, segment by segment, then of
// the rest. Empty: nothing differs.
std::vector<std::string> differences_of(const plan::RackPlan& before, const plan::RackPlan& now);
// The first of them, as many as a row of the journal should hold, and how many more there are.
std::string few_of(const std::vector<std::string>& sentences);

// "guest-1 541.550 MHz; ear-1 (ours) 645.175 MHz", in the order of frequency; and each of such a
// text again.
std::string on_the_air(const plan::Segment& segment);
std::vector<std::string> carriers_in(std::string_view on_the_air);

}  // namespace catwalk::rack
