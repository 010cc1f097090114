// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where an accepted socket becomes a connection. Internal to the room.

#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/context.hpp>
#include <memory>

#include "web/server/hub.hpp"

namespace catwalk::web {

// It keeps itself alive until it is done. `welcome`: false if there is no place, which is said.
void begin_over_tcp(boost::asio::ip::tcp::socket socket, std::shared_ptr<Hub> hub, bool welcome);
// `tls` must outlive the connection.
void begin_over_tls(boost::asio::ip::tcp::socket socket, boost::asio::ssl::context& tls,
                    std::shared_ptr<Hub> hub, bool welcome);

}  // namespace catwalk::web
