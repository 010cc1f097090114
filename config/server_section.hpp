// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "server", "tokens" and "local_users" of a rack file.

#include <filesystem>
#include <vector>

#include "config/documents.hpp"
#include "config/rack_file.hpp"
#include "config/reader.hpp"

namespace catwalk::config {

std::vector<Token> read_tokens(const Cursor& at);
std::vector<LocalUser> read_local_users(const Cursor& at, bool has_tokens);

// The defaults if the section is absent. Listening beyond this machine needs a token, and TLS or a
// reason to do without. Files count from `state_dir`.
ServerSetup read_server(const Cursor& at, bool has_tokens, const std::filesystem::path& state_dir,
                        Documents& documents);

}  // namespace catwalk::config
