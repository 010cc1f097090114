// SPDX-License-Identifier: Apache-2.0
#pragma once
// "what-if left gain=6 --louder ear-1=3" as the API's question.

#include <nlohmann/json.hpp>
#include <string>

#include "daemon/base/result.hpp"
#include "daemon/cli/arguments.hpp"

namespace catwalk::cli {

// The words after the node are settings. An error names the word that cannot be used.
Result<nlohmann::ordered_json, std::string> what_if_question(const Arguments& arguments);

}  // namespace catwalk::cli
