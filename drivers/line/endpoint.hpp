// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where a datagram goes or comes from.

#include <array>
#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace catwalk::drivers {

// IPv4 addresses as ::ffff:a.b.c.d.
struct Endpoint {
  std::array<std::uint8_t, 16> ip{};
  std::uint16_t port = 0;
  friend auto operator<=>(const Endpoint&, const Endpoint&) = default;
};

// An IP address without brackets, and a port from 1; nothing for any other.
std::optional<Endpoint> endpoint_at(const std::string& ip, std::uint16_t port);
// "192.168.7.20:7010" or "[fe80::1]:7010"; nothing for any other text. Names are not looked up:
// that would block, and a show should not hang on a name server.
std::optional<Endpoint> parse_endpoint(std::string_view text);
std::string text_of(const Endpoint& endpoint);

}  // namespace catwalk::drivers
