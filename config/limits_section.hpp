// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "limits" of a rack file: where a number becomes a finding.

#include "config/reader.hpp"
#include "daemon/plan/limits.hpp"

namespace catwalk::config {

// What is not said, or wrong, keeps its default.
plan::Limits read_limits(const Cursor& at);

}  // namespace catwalk::config
