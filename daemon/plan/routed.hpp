// SPDX-License-Identifier: Apache-2.0
#pragma once
// Who hears through whom, where a matrix decides that.
//
// A plan is described, as it was read: with branches that begin at an output and feeds that end at
// an input. Routed, these branches have the nodes whose feeds end at the inputs that their output
// takes, and the unit in their chains; the feeds of these nodes have the trims. So all that looks
// at branches and feeds looks through the routes. An output that takes nothing at which an antenna
// ends leaves its branch without nodes.
//
// Of two matrices in a row one may sum. Where the second takes nothing else, the first one's sum is
// the branch's combiner, and both units are in its chain; else each node has what it passes in the
// first unit as an arm of its own before the second one's sum. A sum of sums, which the rules
// refuse (sum_rules.hpp), is taken so too: each antenna with the first unit for itself alone.

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
// Whose cable ends there. Null: nobody's, or that of an output of another matrix.
const Node* at_input(const RackPlan& plan, const InputOf& input);
// The output of another matrix that ends there.
struct Before {
  const Matrix* matrix = nullptr;  // never null
  std::size_t output = 1;
  const Onward* onward = nullptr;  // never null
  OutputOf by() const { return {matrix->name, output}; }
};
std::optional<Before> before_input(const RackPlan& plan, const InputOf& input);
// Does the branch begin at this matrix, or at one that an output of this one ends at?
bool leads_through(const Branch& branch, const Matrix& matrix);
// Where the antennas of a routed branch come together. Precondition: it begins at an output.
OutputOf summed_at(const Branch& branch);
// By which input of that matrix one of them comes.
std::size_t input_at(const RackPlan& plan, const Node& node, const Branch& branch);
// Does anything end there?
bool is_plugged(const RackPlan& plan, const InputOf& input);

}  // namespace catwalk::plan
