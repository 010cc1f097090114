// SPDX-License-Identifier: Apache-2.0
#pragma once
// Level budgets and recommendations as people read them.

#include <functional>
#include <optional>
#include <string>

#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

// What the same chain's margin is now, in dB; nothing: not known, or not asked.
using MarginNow = std::function<std::optional<double>(const Json& chain)>;

std::string show_explained(const Json& explained, const MarginNow& now = nullptr);
// `active`: the segment against which changes are checked.
std::string show_recommendation(const Json& recommendation, const std::string& active);
std::string show_recommendations(const Json& segment, const std::string& active);
std::string show_what_if(const Json& supposed, const MarginNow& now);
// How much there is of each rule and at each node, then refusals and cautions until a screen of 24
// lines is full; `all`: every finding instead, notes too, node by node.
std::string show_segment_check(const Json& check, bool all);

// "catwalk set left gain=6 filter=slide centre=510 power=on"
std::string set_command(const Json& recommendation);

}  // namespace catwalk::cli
