// SPDX-License-Identifier: Apache-2.0
#pragma once
// "gain=6 centre=518.125 power=off" as the API's patch.

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "protocol/result.hpp"

namespace catwalk::cli {

// An error is one sentence that names the word and what is allowed. Ranges are the daemon's
// business.
Result<nlohmann::ordered_json, std::string> parse_settings(const std::vector<std::string>& words);

}  // namespace catwalk::cli
