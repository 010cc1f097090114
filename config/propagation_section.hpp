// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "propagation" of a rack file: what the ways through the air run over or among.

#include "config/reader.hpp"
#include "daemon/rf/propagation.hpp"

namespace catwalk::config {

// Free space if nothing is said, or it is wrong.
rf::Propagation read_propagation(const Cursor& at);

}  // namespace catwalk::config
