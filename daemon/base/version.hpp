// SPDX-License-Identifier: Apache-2.0
#pragma once
// Which Catwalk this is. In a library of its own, catwalk_version, that programs link and nobody
// else: with each commit it is another, and nothing but programs is then linked again.

#include <string>
#include <string_view>

namespace catwalk {

struct Version {
  std::string_view number;  // "0.1.0", semver.org
  std::string_view commit;  // 12 hexadecimal digits, "+changed" behind them if sources are not as
                            // committed; "unknown" if nobody says
  std::string_view build;   // "RelWithDebInfo, GNU 12.2.0, x86_64"
};
const Version& version();

// "catwalkd 0.1.0 (commit 0123456789ab; RelWithDebInfo, GNU 12.2.0, x86_64)" and a line break.
std::string version_line(std::string_view program);

}  // namespace catwalk
