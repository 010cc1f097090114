// SPDX-License-Identifier: Apache-2.0
#pragma once
// A plan with its matrices set as a segment has them.

#include "daemon/plan/routed.hpp"

namespace catwalk::test {

// Precondition: the segment has whole settings for each.
inline plan::RackPlan routed_in(const plan::RackPlan& plan, const plan::Segment& segment) {
  plan::MatricesNow now;
  for (const auto& matrix : plan.matrices)
    now[matrix.name].settings =
        plan::patched(matrix.sheet->nothing_set(), segment.matrices.at(matrix.name));
  return *plan::routed(plan, now);
}

}  // namespace catwalk::test
