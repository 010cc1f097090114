// SPDX-License-Identifier: Apache-2.0
#pragma once
// An option of a program, as its help and its manual page tell it. Each program has a table of
// them; what it does with one stands beside it there.

#include <span>
#include <string>
#include <string_view>

namespace catwalk {

struct OptionInfo {
  std::string_view name;   // "--why"
  std::string_view value;  // "TEXT"; empty: it takes none
  std::string_view help;
};

// "--why TEXT"
std::string usage_of(const OptionInfo& option);

// Characters, not bytes: what stands in columns on a terminal.
std::size_t width_of(std::string_view utf8);

// The text in lines of at most `columns`, each after the first behind `indent`; ends with a line
// break. A word that is longer stands alone.
std::string wrapped(std::string_view text, std::size_t columns, const std::string& indent);

// A row of help: "  --why TEXT   stands in the journal", what it says from the column `at` on, and
// wrapped there at 100.
std::string help_row(const OptionInfo& option, std::size_t at);

}  // namespace catwalk
