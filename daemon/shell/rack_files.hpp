// SPDX-License-Identifier: Apache-2.0
#pragma once
// The rack file and what it refers to, read and checked.

#include <optional>

#include "config/load.hpp"
#include "daemon/shell/options.hpp"

namespace catwalk::shell {

config::Loaded load(const Options& options);
// Prints every problem to stderr. Absent: there were some.
std::optional<config::RackFile> load_rack(const Options& options);

}  // namespace catwalk::shell
