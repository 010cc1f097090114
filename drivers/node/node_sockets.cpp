// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/node_sockets.hpp"

#include <asio/io_context.hpp>
#include <asio/ip/multicast.hpp>

#include "drivers/line/endpoint_asio.hpp"
#include "drivers/line/networks.hpp"

namespace catwalk::drivers {
namespace {

using Udp = asio::ip::udp;
namespace multicast = asio::ip::multicast;

std::string sentence_of(const Udp::endpoint& at, const asio::error_code& error) {
  return "searches are not heard on " + at.address().to_string() + ": " + error.message();
}

void join(Udp::socket& socket, const asio::ip::address_v4& group, const asio::ip::address_v4& on,
          std::string& unheard) {
  asio::error_code error;
  socket.set_option(multicast::join_group{group, on}, error);
  // A network of which this machine has two addresses is joined once.
  if (error && error != asio::error::address_in_use) unheard = sentence_of({group, 0}, error);
}

// A socket that hears what is sent to this broadcast address or group. Many may share it.
void add_ear(NodeSockets& sockets, asio::io_context& io, const Udp::endpoint& at,
             const asio::ip::address_v4& on) {
  asio::error_code error;
  Udp::socket ear{io};
  ear.open(Udp::v4(), error);
  if (!error) ear.set_option(asio::socket_base::reuse_address{true}, error);
  if (!error) ear.bind(at, error);
  if (!error) ear.non_blocking(true, error);
  if (error) {
    sockets.unheard = sentence_of(at, error);
    return;
  }
  if (at.address().is_multicast()) join(ear, at.address().to_v4(), on, sockets.unheard);
  sockets.all.push_back(std::move(ear));
}

}  // namespace

Result<NodeSockets, std::string> open_node_sockets(asio::io_context& io, const HostPort& at) {
  NodeSockets sockets;
  asio::error_code error;
  const Udp::endpoint local{asio::ip::make_address(at.host), at.port};
  Udp::socket& own = sockets.all.emplace_back(io);
  own.open(local.protocol(), error);
  if (!error) own.bind(local, error);
  if (!error) own.non_blocking(true, error);
  const Udp::endpoint bound = error ? local : own.local_endpoint(error);
  if (error) {
    return Failure{"cannot bind " + at.host + " port " + std::to_string(at.port) + ": " +
                   error.message()};
  }
  asio::error_code ignored;
  own.set_option(asio::socket_base::receive_buffer_size{1 << 20}, ignored);

  const auto networks = own_networks();
  const bool everywhere = bound.address().is_unspecified();
  for (const Endpoint& point : search_points(networks, from_asio(bound), bound.port())) {
    const Udp::endpoint heard_at = to_asio(point, true);
    if (!everywhere) {
      add_ear(sockets, io, heard_at, bound.address().to_v4());
    } else if (heard_at.address().is_multicast()) {
      for (const Network& network : networks)
        join(sockets.all.front(), heard_at.address().to_v4(), asio::ip::address_v4{network.address},
             sockets.unheard);
    }
  }
  return sockets;
}

}  // namespace catwalk::drivers
