// SPDX-License-Identifier: Apache-2.0
#pragma once
// The key that signs the logins of the page, kept beside the journal so that they survive a
// restart.

#include <filesystem>
#include <string>

#include "protocol/result.hpp"

namespace catwalk::shell {

// 32 random bytes, as 64 hex digits: those of `state_dir`/login.key, which is made if it is not
// there, readable by nobody else. Whoever deletes it logs everybody out. Fails with a sentence if
// it can be neither read nor made, or holds something else.
Result<std::string, std::string> login_key_in(const std::filesystem::path& state_dir);

}  // namespace catwalk::shell
