// SPDX-License-Identifier: Apache-2.0
#include "web/server/connection.hpp"

namespace catwalk::web {

void begin_over_tcp(boost::asio::ip::tcp::socket socket, std::shared_ptr<Hub> hub, bool welcome) {
  using Tcp = Connection<beast::tcp_stream>;
  std::make_shared<Tcp>(beast::tcp_stream{std::move(socket)}, std::move(hub))->begin(welcome);
}

}  // namespace catwalk::web
