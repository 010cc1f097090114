// SPDX-License-Identifier: Apache-2.0
#pragma once
// Endpoints and those of Asio. For .cpp files only.

#include <asio/ip/udp.hpp>

#include "daemon/base/endpoint.hpp"

namespace catwalk::drivers {

inline Endpoint from_asio(const asio::ip::udp::endpoint& endpoint) {
  const auto address = endpoint.address();
  const auto v6 = address.is_v4() ? asio::ip::make_address_v6(asio::ip::v4_mapped, address.to_v4())
                                  : address.to_v6();
  return Endpoint{v6.to_bytes(), endpoint.port()};
}

inline asio::ip::udp::endpoint to_asio(const Endpoint& endpoint, bool v4) {
  const asio::ip::address_v6 v6{endpoint.ip};
  if (v4 && v6.is_v4_mapped()) {
    return {asio::ip::make_address_v4(asio::ip::v4_mapped, v6), endpoint.port};
  }
  return {v6, endpoint.port};
}

}  // namespace catwalk::drivers
