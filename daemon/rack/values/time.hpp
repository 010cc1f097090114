// SPDX-License-Identifier: Apache-2.0
#pragma once
// The core reads no clock: the time is handed to it with every event, for stamps only.

#include <chrono>

namespace catwalk::rack {

using TimePoint = std::chrono::sys_time<std::chrono::microseconds>;

}  // namespace catwalk::rack
