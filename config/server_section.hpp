// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "server" and "tokens" of a rack file.

#include <vector>

#include "config/rack_file.hpp"
#include "config/reader.hpp"

namespace catwalk::config {

std::vector<Token> read_tokens(const Cursor& at);

// The defaults if the section is absent. Listening beyond this machine needs a token and a reason
// to do without TLS.
ServerSetup read_server(const Cursor& at, bool has_tokens);

}  // namespace catwalk::config
