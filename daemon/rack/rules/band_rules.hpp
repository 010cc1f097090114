// SPDX-License-Identifier: Apache-2.0
#pragma once
// legal-band and protected-band: what the table of the region has about the spectrum that carriers
// use. Never a permission: a table that says nothing is said to say nothing, and the regulator
// decides. What was not read in the text named is never called published.

#include <span>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/values/verdict.hpp"

namespace catwalk::rack {

// Cautions: a carrier in a closed row, in no row at all, or stronger than the rows allow. Refused:
// a carrier in a row that protects another service. A row that holds in some areas only counts
// where the rack stands in one of them, on what holds there; where nobody says where it stands
// (plan.stands_at) it is a caution that asks. No findings where the region is unknown: then nothing
// is known. `node` is whom the findings name; empty for those about a segment.
std::vector<Finding> check_bands(const plan::RackPlan& plan,
                                 std::span<const plan::Carrier* const> carriers,
                                 const plan::NodeName& node);

// A note for each row that carriers lie in and that has conditions: a licence, or a source that was
// not read in full ("check with the regulator"). Rows that hold elsewhere only have none here.
std::vector<Finding> band_conditions(const plan::RackPlan& plan,
                                     std::span<const plan::Carrier* const> carriers);

}  // namespace catwalk::rack
