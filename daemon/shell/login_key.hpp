// SPDX-License-Identifier: Apache-2.0
#pragma once
// The key that signs the logins of the page, kept beside the journal so that they survive a
// restart.

#include <filesystem>
#include <string>

#include "daemon/base/result.hpp"

namespace catwalk::shell {

struct LoginKey {
  std::string key;   // 32 random bytes, as 64 hex digits
  std::string note;  // what was wrong with the one that was there: a sentence; empty: nothing
};

// That of `state_dir`/login.key, which is made if it is not there, readable by nobody else. One
// that holds something else is set aside, as login.key.broken, and another is made; one that the
// disk does not take lasts as long as the daemon, and the note says so. Whoever deletes it logs
// everybody out. Fails with a sentence if it is open to others, or the system gives no random
// numbers.
Result<LoginKey, std::string> login_key_in(const std::filesystem::path& state_dir);

}  // namespace catwalk::shell
