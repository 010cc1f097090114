// SPDX-License-Identifier: Apache-2.0
#pragma once
// The commands: each asks the daemon, shows the answer, and says by its exit status how it went.

#include <iosfwd>

#include "daemon/cli/arguments.hpp"
#include "daemon/cli/client.hpp"

namespace catwalk::cli {

enum ExitStatus : int {
  exit_done = 0,
  exit_usage = 2,        // words or values that cannot be used, or files with errors
  exit_refused = 3,      // as things are: rules, lock, role; or a waiver is needed
  exit_failed = 4,       // the node refused, or reads back something else
  exit_unreachable = 5,  // the node does not answer
  exit_no_daemon = 6,    // no daemon there, or an answer that is not understood
  exit_overtaken = 7,    // somebody else changed it in between, or is changing it now
};

struct Screen {
  std::ostream& out;
  std::ostream& err;
  bool colour = false;  // the terminal understands it
};

int run_command(const Arguments& arguments, Client& client, Screen screen);

}  // namespace catwalk::cli
