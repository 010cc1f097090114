// SPDX-License-Identifier: Apache-2.0
#pragma once
// The live feed as people read it.

#include <string>

#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

// One message of the live feed: a line for each thing that changed, behind the time; nothing for
// readings alone. `known`: what was last told, empty at first; kept up to date here.
std::string show_live(const Json& message, const std::string& time, Json& known);

}  // namespace catwalk::cli
