// SPDX-License-Identifier: Apache-2.0
#pragma once
// Addresses of other machines: numbers, never names. To look a name up would block, and a show
// should not hang on a name server.

#include <array>
#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace catwalk {

// 16 bytes in network order; IPv4 addresses as ::ffff:a.b.c.d (RFC 4291, section 2.5.5.2).
using IpAddress = std::array<std::uint8_t, 16>;

// "192.0.2.7" or "2001:db8::7", without brackets and without a zone; nothing for any other text.
std::optional<IpAddress> parse_ip(const std::string& text);
// The same way round; IPv6 in its shortest form (RFC 5952).
std::string text_of(const IpAddress& ip);
bool is_v4(const IpAddress& ip);
bool is_loopback(const IpAddress& ip);
bool is_any(const IpAddress& ip);  // 0.0.0.0 or ::

struct Endpoint {
  IpAddress ip{};
  std::uint16_t port = 0;
  friend auto operator<=>(const Endpoint&, const Endpoint&) = default;
};

// "192.0.2.7:47470" or "[2001:db8::7]:47470", ports from `lowest_port` to 65535; nothing for any
// other text.
std::optional<Endpoint> parse_endpoint(std::string_view text, std::uint16_t lowest_port = 1);
std::string text_of(const Endpoint& endpoint);

}  // namespace catwalk
