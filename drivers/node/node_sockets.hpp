// SPDX-License-Identifier: Apache-2.0
#pragma once
// The sockets of emulated nodes: their own, and those on which they hear searches. For .cpp files
// only.

#include <asio/ip/udp.hpp>
#include <string>
#include <vector>

#include "daemon/base/result.hpp"
#include "drivers/node/node_options.hpp"

namespace catwalk::drivers {

struct NodeSockets {
  // The first is the nodes' own, at which they are asked and from which they answer. Bound to
  // 0.0.0.0 it hears searches as well; bound to one address it would hear neither broadcasts nor
  // the group, which have a socket each then.
  std::vector<asio::ip::udp::socket> all;
  std::string unheard;  // why not every search is heard; empty: it is
};

// The error is a sentence.
Result<NodeSockets, std::string> open_node_sockets(asio::io_context& io, const HostPort& at);

}  // namespace catwalk::drivers
