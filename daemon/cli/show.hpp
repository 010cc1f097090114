// SPDX-License-Identifier: Apache-2.0
#pragma once
// The API's documents as people read them.

#include <nlohmann/json.hpp>
#include <string>

namespace catwalk::cli {

using Json = nlohmann::ordered_json;

std::string show_nodes(const Json& nodes, bool colour);
std::string show_node(const Json& node);
std::string show_findings(const Json& findings, const std::string& indent);
std::string show_rack(const Json& rack);
std::string show_segments(const Json& segments, const std::string& active);
std::string show_lines(const Json& lines, bool colour);
std::string show_discovered(const Json& line);
std::string show_alarms(const Json& alarms, bool colour);
std::string show_journal(const Json& entries);
// One message of the live feed, a line for each thing that changed; nothing for readings alone.
// `known`: the nodes as last told, by name; kept up to date here.
std::string show_live(const Json& message, Json& known);

}  // namespace catwalk::cli
