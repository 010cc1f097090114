// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the rules say of a whole rack at rest: at the ends of a switch and between its steps.

#include "daemon/rack/way/way.hpp"
#include "daemon/rack/way/way_facts.hpp"

namespace catwalk::rack {

// Fills in Way::before, Way::end and Step::after. Nodes whose settings are not known have no
// verdict.
//
// Between the steps, with the carriers that are live then, one rule weighs less than at an end: a
// carrier outside the window of one node is a note, since the other branch has it; a receiver that
// no branch serves is a caution, once for each receiver. if-power-fails is left to the ends. After
// the last step stands the verdict of the end. At the ends it begins with what the carriers are to
// each other and to their lanes (rules/carrier_rules.hpp); these findings name no node.
void add_verdicts(const SwitchTask& task, const WayFacts& facts, Way& way);

// Fills in Way::end alone.
void add_end_verdict(const SwitchTask& task, Way& way);

}  // namespace catwalk::rack
