// SPDX-License-Identifier: Apache-2.0
#pragma once
// "output-1=3+7 trim-3=-4.5 supply-3=12 label-3=quay" as the API's patch of a matrix.

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "daemon/base/result.hpp"

namespace catwalk::cli {

// An error is one sentence that names the word and what is allowed. What the unit has is the
// daemon's business.
Result<nlohmann::ordered_json, std::string> parse_routes(const std::vector<std::string>& words);

}  // namespace catwalk::cli
