// SPDX-License-Identifier: Apache-2.0
#include "web/server/connection.hpp"

namespace catwalk::web {

void begin_over_tls(StreamSocket socket, boost::asio::ssl::context& tls, std::shared_ptr<Hub> hub,
                    bool welcome) {
  std::make_shared<Connection<TlsStream>>(TlsStream{PlainStream{std::move(socket)}, tls},
                                          std::nullopt, std::move(hub))
      ->begin(welcome);
}

}  // namespace catwalk::web
