// SPDX-License-Identifier: Apache-2.0
#pragma once
// Every command stands in one row: its words, its help, and what does it, above the row where that
// takes more than a line. In the order of the help.

#include <span>

#include "daemon/cli/arguments.hpp"

namespace catwalk::cli {

std::span<const CommandInfo> commands_on_nodes();
std::span<const CommandInfo> commands_on_matrices();
std::span<const CommandInfo> commands_on_physics();
std::span<const CommandInfo> commands_of_upkeep();
std::span<const CommandInfo> commands_on_the_order();
std::span<const CommandInfo> commands_on_lines();
std::span<const CommandInfo> commands_on_alarms();
std::span<const CommandInfo> commands_on_the_record();

}  // namespace catwalk::cli
