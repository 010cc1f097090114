// SPDX-License-Identifier: Apache-2.0
#pragma once
// What to change in the plan where no settings of a node are clean.

#include <string>
#include <vector>

#include "daemon/rack/rules/rules.hpp"

namespace catwalk::rack {

// A sentence for each finding that a change of the plan can mend: which carrier to move and how far
// at least, how much weaker it would have to come in, what the feed would have to gain or lose. It
// follows the cause: where a gain that would make up the loss is held down by products or overload,
// these are what is spoken of, and where interference takes the margin, what makes it. Ends with
// what the carriers are to each other and to their lanes (carrier_rules.hpp), of those that this
// node has to hear.
// `verdict` is that of check() on `settings`, the least bad that were found.
std::vector<std::string> advise(const Surroundings& surroundings, const plan::Node& node,
                                const plan::Settings& settings, const Verdict& verdict);

}  // namespace catwalk::rack
