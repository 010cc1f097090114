// SPDX-License-Identifier: Apache-2.0
#pragma once
// What is done with the journal besides running the rack: it is verified, and old rows leave it.

#include <filesystem>

#include "config/rack_file.hpp"
#include "daemon/shell/options.hpp"

namespace catwalk::shell {

std::filesystem::path journal_file(const config::RackFile& rack);

// Exit statuses as in daemon.hpp. What was found is printed.
int verify_journal(const Options& options);
int export_journal(const Options& options);

// Logs how many rows are older than the journal is kept, if there are any: none ever leaves by
// itself.
void say_what_may_leave(const config::RackFile& rack);

}  // namespace catwalk::shell
