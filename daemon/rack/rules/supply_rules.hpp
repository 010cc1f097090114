// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a matrix feeds up its cables: antenna-unsupplied, supply-voltage, supply-current.

#include <vector>

#include "daemon/plan/matrix.hpp"
#include "daemon/rack/rules/rules.hpp"

namespace catwalk::rack {

// Does this node get from its input what its datasheet takes? True too where nobody knows that it
// lives on the cable at all.
bool is_supplied(const plan::RackPlan& plan, const plan::Node& node);

// Of a matrix as the plan has it set.
std::vector<Finding> check_supplies(const Surroundings& around, const plan::Matrix& matrix);

// What nodes may be in once a plan is set so: one that loses its supply is passive, one that gets
// it back does what it is set to.
std::function<PossibleSettings(const plan::NodeName&)> possible_with_supplies(
    const Surroundings& around, const plan::RackPlan& then);

}  // namespace catwalk::rack
