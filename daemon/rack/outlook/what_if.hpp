// SPDX-License-Identifier: Apache-2.0
#pragma once
// "What if": the same rules and numbers on a plan and settings that are changed for the question
// only. Nothing of the rack is touched.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/outlook/explain.hpp"
#include "daemon/rack/rules/rules.hpp"

namespace catwalk::rack {

struct WhatIf {
  plan::SettingsPatch patch = {};                        // of the node that is asked about
  std::vector<plan::NodeName> passive = {};              // nodes without power
  std::map<plan::CarrierName, rf::Decibel> louder = {};  // e.r.p., −60 to 60 dB; negative: weaker
  std::map<plan::NodeName, rf::Metres> longer = {};      // the longest cable of the node's feed
  friend bool operator==(const WhatIf&, const WhatIf&) = default;
};

struct Supposed {
  plan::Settings settings;  // of the node, with the patch
  Verdict verdict;
  bool possible = false;  // the node can do it; else nothing is explained
  Explained explained;    // names and numbers only: its carrier and receiver pointers are null
};

// Names the part of the question that cannot be supposed.
struct WhatIfProblem {
  std::string field;  // "longer/truss-left"
  std::string value;
  std::string allowed;
  std::string sentence;
  friend bool operator==(const WhatIfProblem&, const WhatIfProblem&) = default;
};

// All problems at once, or the answer. Precondition: the segment is one of the plan's.
Result<Supposed, std::vector<WhatIfProblem>> what_if(const Surroundings& surroundings,
                                                     const plan::Node& node,
                                                     const plan::Settings& base,
                                                     const WhatIf& question,
                                                     const plan::CarrierName& carrier = {});

}  // namespace catwalk::rack
