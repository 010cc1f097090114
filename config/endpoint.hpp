// SPDX-License-Identifier: Apache-2.0
#pragma once
// "192.0.2.7:47470" or "[2001:db8::7]:47470".

#include <optional>
#include <string>
#include <string_view>

#include "config/rack_file.hpp"
#include "config/reader.hpp"
#include "daemon/base/endpoint.hpp"

namespace catwalk::config {

constexpr std::string_view endpoint_rule =
    "an IP address and a port, such as \"192.0.2.7:47470\" or \"[2001:db8::7]:47470\"";

// Ports from `lowest_port` to 65535.
std::optional<Endpoint> read_endpoint(const Cursor& at, std::uint16_t lowest_port);
std::optional<IpAddress> read_ip_address(const Cursor& at);
// An address with or without a port: "192.0.2.7", "192.0.2.7:53000", "2001:db8::7", or
// "[2001:db8::7]:53000". Ports from 1.
std::optional<Sender> read_sender(const Cursor& at);

}  // namespace catwalk::config
