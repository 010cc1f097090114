// SPDX-License-Identifier: Apache-2.0
#pragma once
// "192.0.2.7:47470" or "[2001:db8::7]:47470".

#include <optional>
#include <string>
#include <string_view>

#include "config/rack_file.hpp"
#include "config/reader.hpp"

namespace catwalk::config {

constexpr std::string_view endpoint_rule =
    "an IP address and a port, such as \"192.0.2.7:47470\" or \"[2001:db8::7]:47470\"";

bool is_ip_address(const std::string& text);
bool is_loopback(const std::string& ip_address);

// Ports from `lowest_port` to 65535.
std::optional<Endpoint> read_endpoint(const Cursor& at, std::uint16_t lowest_port);
std::optional<std::string> read_ip_address(const Cursor& at);

}  // namespace catwalk::config
