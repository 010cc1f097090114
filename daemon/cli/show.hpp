// SPDX-License-Identifier: Apache-2.0
#pragma once
// The API's documents as people read them.

#include <string>

#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

enum class Ages { told, left_out };
std::string state_of(const Json& node, Ages ages = Ages::told);
std::string control_words(const Json& rack);
std::string shelving_words(const Json& alarm);

std::string show_nodes(const Json& nodes, bool colour);
std::string show_node(const Json& node);
// `told_of`: the node that all of it is about, which is not named again.
std::string show_findings(const Json& findings, const std::string& indent,
                          const std::string& told_of = {});
std::string show_rack(const Json& rack);
std::string show_segments(const Json& segments, const std::string& active);
std::string show_lines(const Json& lines, bool colour);
std::string show_discovered(const Json& line);
std::string show_alarms(const Json& alarms, bool colour);
std::string show_journal(const Json& entries);

}  // namespace catwalk::cli
