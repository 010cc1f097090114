// SPDX-License-Identifier: Apache-2.0
#include "web/server/wire/connection.hpp"

namespace catwalk::web {

void begin_over_tls(StreamSocket socket, boost::asio::ssl::context& tls, Arrival arrival,
                    std::shared_ptr<Hub> hub) {
  std::make_shared<Connection<TlsStream>>(TlsStream{PlainStream{std::move(socket)}, tls},
                                          std::move(arrival), std::move(hub))
      ->begin();
}

}  // namespace catwalk::web
