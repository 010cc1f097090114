// SPDX-License-Identifier: Apache-2.0
#pragma once
// Opening a serial device on Linux: raw, 8N1, any baud rate, ours alone, never as the controlling
// terminal. Works with pseudo-terminals too.

#include <cstdint>
#include <string>

#include "daemon/base/result.hpp"

namespace catwalk::drivers {

// The file descriptor, which the caller closes; or a sentence: "cannot open /dev/ttyUSB0: …".
// Bytes that were waiting are dropped. Asks the driver for low latency, and goes on without.
Result<int, std::string> open_serial_port(const std::string& device, std::uint32_t baud);

}  // namespace catwalk::drivers
