// SPDX-License-Identifier: Apache-2.0
#pragma once
// Crew sheets as people read them, on a screen or on paper.

#include <string>

#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

std::string show_crew(const Json& sheet);
// "7 things for people to do, 3 ticked"
std::string crew_words(const Json& sheet);

}  // namespace catwalk::cli
