// SPDX-License-Identifier: Apache-2.0
#pragma once
// "gain=6 centre=518.125 power=off" as the API's patch.

#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.hpp"

namespace catwalk::cli {

// An error is one sentence that names the word and what is allowed. Ranges are the daemon's
// business.
Result<nlohmann::ordered_json, std::string> parse_settings(const std::vector<std::string>& words);
// "gain=DB filter=NAME …".
std::string settings_usage();

// "6", "+6", "-1.5", "518.125"; nothing for any other text, an exponent or a unit included.
std::optional<double> parse_number(std::string_view text);

// "90s", "30m", "2h" in seconds.
Result<std::int64_t, std::string> parse_duration(const std::string& word);

// "3", "5-9": numbers of alarms, at most a thousand in all.
Result<std::vector<std::uint64_t>, std::string> parse_ranges(const std::vector<std::string>& words);

// "a,b" → a and b.
std::vector<std::string> parse_names(const std::string& list);
// "ear-1=6,ear-2=-3" as an object; `allowed` says in errors what it should have been.
Result<nlohmann::ordered_json, std::string> parse_amounts(const std::string& option,
                                                          const std::string& list,
                                                          const std::string& allowed);

}  // namespace catwalk::cli
