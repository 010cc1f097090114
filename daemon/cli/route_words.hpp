// SPDX-License-Identifier: Apache-2.0
#pragma once
// "output-1=3+7 trim-3=-4.5 supply-3=12 label-3=quay" as the API's patch of a matrix.

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.hpp"

namespace catwalk::cli {

// An error is one sentence that names the word and what is allowed. What the unit has is the
// daemon's business.
Result<nlohmann::ordered_json, std::string> parse_routes(const std::vector<std::string>& words);

// Of an input or an output: 1 to 32. Nothing: it is none.
std::optional<unsigned> number_of_socket(std::string_view text);

}  // namespace catwalk::cli
