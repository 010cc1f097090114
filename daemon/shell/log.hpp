// SPDX-License-Identifier: Apache-2.0
#pragma once
// The log: lines on standard error, for a terminal or journald, which both obey control characters.

#include <spdlog/formatter.h>

#include <memory>
#include <string>

namespace catwalk::shell {

// One line for each message, after date, time and level. What a node, a file or a person has said
// in it is written with escapes where it breaks the rule for text (protocol/text.hpp), line feeds
// included.
std::unique_ptr<spdlog::formatter> log_line();

// `level` as spdlog names it.
void log_to_standard_error(const std::string& level);

}  // namespace catwalk::shell
