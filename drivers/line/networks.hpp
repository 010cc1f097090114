// SPDX-License-Identifier: Apache-2.0
#pragma once
// The IPv4 networks that a socket is on, and where nodes on them hear a search (PROTOCOL.md,
// section 5).

#include <cstdint>
#include <vector>

#include "daemon/base/endpoint.hpp"

namespace catwalk::drivers {

// In the byte order of this machine: 0x7F000001 is 127.0.0.1.
struct Network {
  std::uint32_t address = 0;  // this machine's
  std::uint32_t mask = 0;

  std::uint32_t broadcast() const { return address | ~mask; }
  bool holds(std::uint32_t other) const { return (other & mask) == (address & mask); }
  friend bool operator==(const Network&, const Network&) = default;
};

// Those that are up now, with more than two addresses (RFC 3021) and a broadcast address.
std::vector<Network> own_networks();

// The group, and the broadcast address of each network that a socket bound to `bound` is on: to
// 0.0.0.0 of all of them. The limited broadcast address (RFC 919) is none: it would leave by
// whatever network the system prefers. Empty for IPv6.
std::vector<Endpoint> search_points(const std::vector<Network>& networks, const Endpoint& bound,
                                    std::uint16_t port);

}  // namespace catwalk::drivers
