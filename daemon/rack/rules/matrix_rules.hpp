// SPDX-License-Identifier: Apache-2.0
#pragma once
// The verdict on putting a matrix into settings: can it do it, and what becomes of those that hear
// through it. And of a node of either kind.
//
// matrix-route, matrix-trim, matrix-supply, label-length, label-text; receiver-without-antenna.
// What it feeds: supply_rules.hpp; what it sums: sum_rules.hpp;
// what comes past its routes: leak_rules.hpp.

#include <vector>

#include "daemon/plan/device.hpp"
#include "daemon/rack/rules/rules.hpp"

namespace catwalk::rack {

// Turns a patch into whole settings. Sockets that the datasheet does not have become findings.
struct MatrixProposal {
  plan::MatrixSettings settings;
  std::vector<Finding> findings;
};
MatrixProposal propose(const plan::Matrix& matrix, const plan::MatrixSettings& base,
                       const plan::MatrixPatch& patch);

// Does a segment say anything of this node, of whatever kind it is?
bool is_set_in(const plan::Segment& segment, const plan::NodeName& name);
// What a segment has for a node of either kind, on top of these settings.
struct NodeProposal {
  plan::NodeSettings settings;
  std::vector<Finding> findings;
};
NodeProposal propose(const plan::Device& device, const plan::NodeSettings& base,
                     const plan::Segment& segment);

// Can it do it. Precondition: the settings fit its datasheet.
std::vector<Finding> check_datasheet(const plan::Matrix& matrix,
                                     const plan::MatrixSettings& settings);

// The whole verdict: the datasheet's, of the routes themselves, and of every node that is heard
// otherwise than now what is found then and is not found as things are: what is wrong already is
// not the routes' doing.
Verdict check(const Surroundings& around, const plan::Matrix& matrix,
              const plan::MatrixSettings& settings);

// Of a node of either kind.
Verdict check(const Surroundings& around, const plan::Device& device,
              const plan::NodeSettings& settings);
std::vector<Finding> check_datasheet(const plan::Device& device,
                                     const plan::NodeSettings& settings);

// Those of `more` that say something else than what is there: of the same rule, node and concerns
// only what is graver.
void add_new_findings(Verdict& all, Verdict more);

}  // namespace catwalk::rack
