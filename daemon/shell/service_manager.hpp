// SPDX-License-Identifier: Apache-2.0
#pragma once
// Tells systemd how we are, by the protocol of sd_notify(3); without a service manager, nobody.

#include <chrono>
#include <optional>
#include <string_view>

namespace catwalk::shell {

// "READY=1", "STOPPING=1", "WATCHDOG=1". Nothing happens without $NOTIFY_SOCKET.
void tell_service_manager(std::string_view state);

// How often to say WATCHDOG=1: half of $WATCHDOG_USEC. Absent: nobody watches.
std::optional<std::chrono::microseconds> watchdog_interval();

}  // namespace catwalk::shell
