// SPDX-License-Identifier: Apache-2.0
#pragma once
// Where an accepted socket becomes a connection. Internal to the room.

#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/asio/generic/stream_protocol.hpp>
#include <boost/asio/ssl/context.hpp>
#include <memory>
#include <optional>
#include <string>

#include "web/server/wire/hub.hpp"

namespace catwalk::web {

// TCP or Unix: from here on they are the same.
using StreamSocket = boost::asio::generic::stream_protocol::socket;

// Who comes, as far as the system says.
struct Arrival {
  Holder holder;             // a user of this machine, or a stranger with an address
  std::optional<Peer> peer;  // over the Unix socket only
  std::string from;          // for people: the address, or the user
};

// It keeps itself alive until it is done. There is a seat for it.
void begin_plain(StreamSocket socket, Arrival arrival, std::shared_ptr<Hub> hub);
void begin_over_tls(StreamSocket socket, boost::asio::ssl::context& tls, Arrival arrival,
                    std::shared_ptr<Hub> hub);
// There is none, which is said; in clear only, since hands are not shaken for that.
void refuse_plain(StreamSocket socket, const std::string& sentence);

}  // namespace catwalk::web
