// SPDX-License-Identifier: Apache-2.0
#pragma once
// The other end of a datagram.

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace catwalk::control {

struct Peer {
  std::string host;  // an IP address in its shortest form, without brackets
  std::uint16_t port = 0;
  std::uint32_t scope = 0;  // of a link-local IPv6 address: the interface
  friend auto operator<=>(const Peer&, const Peer&) = default;

  // "127.0.0.1:53000", "[::1]:53000"
  std::string text() const {
    const bool v6 = host.find(':') != std::string::npos;
    return (v6 ? '[' + host + ']' : host) + ':' + std::to_string(port);
  }
};

struct Sender {
  std::string host;                   // like that of a peer
  std::optional<std::uint16_t> port;  // absent: any
};

struct Setup {
  std::vector<Sender> senders;    // whoever else sends is a stranger
  std::vector<Peer> subscribers;  // are told the state without asking
};

}  // namespace catwalk::control
