// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where an accepted socket becomes a connection. Internal to the room.

#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/asio/generic/stream_protocol.hpp>
#include <boost/asio/ssl/context.hpp>
#include <memory>
#include <optional>

#include "web/server/hub.hpp"

namespace catwalk::web {

// TCP or Unix: from here on they are the same.
using StreamSocket = boost::asio::generic::stream_protocol::socket;

// It keeps itself alive until it is done. `peer`: who it is, if the system says so. `welcome`:
// false if there is no place, which is said.
void begin_plain(StreamSocket socket, std::optional<Peer> peer, std::shared_ptr<Hub> hub,
                 bool welcome);
// `tls` must outlive the connection.
void begin_over_tls(StreamSocket socket, boost::asio::ssl::context& tls, std::shared_ptr<Hub> hub,
                    bool welcome);

}  // namespace catwalk::web
