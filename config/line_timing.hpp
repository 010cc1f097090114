// SPDX-License-Identifier: Apache-2.0
#pragma once
// How fast each kind of line is to be expected, for predictions of how long a switch takes. What is
// waited for before an answer counts as missing is the driver's business, and longer.

#include "config/rack_file.hpp"

namespace catwalk::config {

plan::LineTiming timing_of(const LineSetup& line);

}  // namespace catwalk::config
