// SPDX-License-Identifier: Apache-2.0
#pragma once
// How loud one node is in every amplifier that its signal meets, those of its lead among them.

#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/levels/tuned_node.hpp"

namespace catwalk::rack {

// An amplifier of the rack, or a node's own. Two chains that name the same amplifier have each one
// of their own, as in node_physics.hpp.
struct AmplifierOnTheWay {
  const plan::RackAmplifier* in_rack = nullptr;  // null: the node's own
  std::string name;
  double p1db = 0.0;  // mW at its input; of a node's own at its output
};

// The node's own first, those of its lead, and those behind in the order in which its receivers
// meet them.
std::vector<AmplifierOnTheWay> amplifiers_met(const plan::RackPlan& plan, const plan::Node& node);

// What this node alone brings to each of them, mW, as `p1db` counts. Settings that are not known or
// not possible: nothing beyond its lead.
std::vector<double> loudness(const NodePhysics& physics,
                             const std::vector<AmplifierOnTheWay>& amplifiers,
                             const std::optional<plan::Settings>& settings);

}  // namespace catwalk::rack
