// SPDX-License-Identifier: Apache-2.0
#pragma once
// The body of a what-if question, and what cannot be supposed in the words of that body.

#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/outlook/what_if.hpp"
#include "web/server/http/input.hpp"

namespace catwalk::web {

struct WhatIfAsk {
  rack::WhatIf question;
  std::optional<std::string> carrier;
  std::optional<std::string> segment;
  bool response = false;  // the node's gain over frequency is asked for, too
};
// {"settings": {…}, "passive": true or ["node"], "louder_db": {"carrier": 6},
//  "longer_m": {"node": 30}, "carrier": "…", "segment": "…", "response": true};
// complaints stay in the body.
WhatIfAsk read_what_if(Body& body, const plan::NodeName& node, const plan::Datasheet& datasheet);

std::vector<BadValue> in_the_body(const std::vector<rack::WhatIfProblem>& problems,
                                  const rack::WhatIf& question);

}  // namespace catwalk::web
