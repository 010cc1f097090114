// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who hears through whom, where a matrix decides that.
//
// A plan is described, as it was read: with branches that begin at an output and feeds that end at
// an input. Routed, these branches have the nodes whose feeds end at the inputs that their output
// takes, and the unit in their chains; the feeds of these nodes have the trims. So all that looks
// at branches and feeds looks through the routes. An output that takes nothing at which an antenna
// ends leaves its branch without nodes.

#include <map>
#include <memory>

#include "daemon/plan/rack_plan.hpp"

namespace catwalk::plan {

// How a matrix is set, and whether it runs.
struct MatrixNow {
  MatrixSettings settings;  // as many sockets as its datasheet has
  bool supplied = true;     // else it is passive: MatrixSheet::unsupplied
  friend bool operator==(const MatrixNow&, const MatrixNow&) = default;
};
using MatricesNow = std::map<NodeName, MatrixNow>;

// Precondition: it is a described one, and its matrices are set as they are to be routed.
RackPlan routed(RackPlan described);

// Routed with these matrices so, and the others as the plan has them. `plan`: described or routed.
// What does not fit a matrix's datasheet is not taken.
std::shared_ptr<const RackPlan> routed(const RackPlan& plan, const MatricesNow& now);

// What an output takes as things are. Precondition: the matrix has it.
const Inputs& taken_by(const Matrix& matrix, std::size_t output);
// What an input feeds up its cable, mV; 0: nothing.
std::uint16_t fed_by(const Matrix& matrix, std::size_t input);
// Whose cable ends there. Null: nobody's.
const Node* at_input(const RackPlan& plan, const InputOf& input);

}  // namespace catwalk::plan
