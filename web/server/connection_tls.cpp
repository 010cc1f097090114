// SPDX-License-Identifier: Apache-2.0
#include "web/server/connection.hpp"

namespace catwalk::web {

void begin_over_tls(boost::asio::ip::tcp::socket socket, boost::asio::ssl::context& tls,
                    std::shared_ptr<Hub> hub, bool welcome) {
  using Tls = Connection<TlsStream>;
  std::make_shared<Tls>(TlsStream{beast::tcp_stream{std::move(socket)}, tls}, std::move(hub))
      ->begin(welcome);
}

}  // namespace catwalk::web
