// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a daemon says may hold what it was told before text was checked, or may not come from a
// daemon of ours at all. Nothing of it reaches a terminal that could move it (protocol/text.hpp).

#include <string>
#include <string_view>

#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

// Every text in it, names of members included, is made plain; line feeds stay.
Json made_plain(Json json);

// As JSON, whole and unchanged: what is not plain text is written as \uXXXX (RFC 8259, section 7).
std::string printed(const Json& json);
// The same for a text that is JSON already.
std::string printed_text(const std::string& json_text);

// A document of lines that end in LF or CR LF, as it came but for what is no plain text.
std::string plain_lines(std::string_view text);

}  // namespace catwalk::cli
