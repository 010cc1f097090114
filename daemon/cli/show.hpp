// SPDX-License-Identifier: Apache-2.0
#pragma once
// The API's documents as people read them.

#include <string>

#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

std::string show_nodes(const Json& nodes, bool colour);
std::string show_node(const Json& node);
std::string show_findings(const Json& findings, const std::string& indent);
std::string show_rack(const Json& rack);
std::string show_segments(const Json& segments, const std::string& active);
std::string show_lines(const Json& lines, bool colour);
std::string show_discovered(const Json& line);
std::string show_alarms(const Json& alarms, bool colour);
std::string show_journal(const Json& entries);
// One message of the live feed: a line for each thing that changed, behind the time; nothing for
// readings alone. `known`: what was last told, empty at first; kept up to date here.
std::string show_live(const Json& message, const std::string& time, Json& known);

}  // namespace catwalk::cli
