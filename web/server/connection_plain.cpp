// SPDX-License-Identifier: Apache-2.0
#include "web/server/connection.hpp"

namespace catwalk::web {

void begin_plain(StreamSocket socket, std::optional<Peer> peer, std::shared_ptr<Hub> hub,
                 bool welcome) {
  std::make_shared<Connection<PlainStream>>(PlainStream{std::move(socket)}, std::move(peer),
                                            std::move(hub))
      ->begin(welcome);
}

}  // namespace catwalk::web
