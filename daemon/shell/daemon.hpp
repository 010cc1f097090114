// SPDX-License-Identifier: Apache-2.0
#pragma once
// The daemon as a whole: builds the rooms, wires them together, runs until it is told to end.

#include "daemon/shell/options.hpp"

namespace catwalk::shell {

// Exit statuses after sysexits.h, where it has one.
enum ExitStatus : int {
  exit_done = 0,
  exit_failed = 1,
  exit_usage = 2,
  exit_bad_config = 78,
};

// Prints beside the problems what carrier_rules.hpp says of each segment, to stdout; that alone
// does not make the files bad.
int check_files(const Options& options);

int run_daemon(const Options& options);

}  // namespace catwalk::shell
