// SPDX-License-Identifier: Apache-2.0
#include "drivers/line/networks.hpp"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>

#include <algorithm>
#include <cstring>
#include <memory>

#include "protocol/datagram.hpp"

namespace catwalk::drivers {
namespace {

constexpr std::size_t v4_at = 12;  // of ::ffff:a.b.c.d

std::uint32_t number_of(const sockaddr& address) {
  sockaddr_in v4{};
  std::memcpy(&v4, &address, sizeof v4);
  return ntohl(v4.sin_addr.s_addr);
}

bool is_v4(const Endpoint& endpoint) {
  constexpr std::array<std::uint8_t, v4_at> mapped{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0xFF, 0xFF};
  return std::equal(mapped.begin(), mapped.end(), endpoint.ip.begin());
}

std::uint32_t v4_of(const Endpoint& endpoint) {
  std::uint32_t number = 0;
  for (std::size_t i = v4_at; i < endpoint.ip.size(); ++i) number = number << 8 | endpoint.ip[i];
  return number;
}

Endpoint v4_endpoint(std::uint32_t number, std::uint16_t port) {
  Endpoint endpoint{{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0xFF, 0xFF}, port};
  for (std::size_t i = endpoint.ip.size(); i-- > v4_at; number >>= 8)
    endpoint.ip[i] = static_cast<std::uint8_t>(number);
  return endpoint;
}

}  // namespace

std::vector<Network> own_networks() {
  ifaddrs* first = nullptr;
  if (getifaddrs(&first) != 0) return {};
  const std::unique_ptr<ifaddrs, decltype(&freeifaddrs)> kept{first, &freeifaddrs};
  std::vector<Network> networks;
  for (const ifaddrs* at = first; at != nullptr; at = at->ifa_next) {
    const bool usable =
        (at->ifa_flags & IFF_UP) != 0 && (at->ifa_flags & (IFF_BROADCAST | IFF_LOOPBACK)) != 0;
    if (!usable || at->ifa_addr == nullptr || at->ifa_netmask == nullptr) continue;
    if (at->ifa_addr->sa_family != AF_INET) continue;
    const Network network{number_of(*at->ifa_addr), number_of(*at->ifa_netmask)};
    if (~network.mask > 1) networks.push_back(network);
  }
  return networks;
}

std::vector<Endpoint> search_points(const std::vector<Network>& networks, const Endpoint& bound,
                                    std::uint16_t port) {
  if (!is_v4(bound)) return {};
  const std::uint32_t address = v4_of(bound);
  Endpoint group = v4_endpoint(0, port);
  std::copy(protocol::search_group.begin(), protocol::search_group.end(), group.ip.begin() + v4_at);
  std::vector<Endpoint> points{group};
  for (const Network& network : networks) {
    if (address != 0 && !network.holds(address)) continue;
    const Endpoint all = v4_endpoint(network.broadcast(), port);
    if (std::find(points.begin(), points.end(), all) == points.end()) points.push_back(all);
  }
  return points;
}

}  // namespace catwalk::drivers
