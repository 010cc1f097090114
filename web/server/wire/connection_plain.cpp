// SPDX-License-Identifier: Apache-2.0
#include "web/server/wire/connection.hpp"

namespace catwalk::web {

void begin_plain(StreamSocket socket, Arrival arrival, std::shared_ptr<Hub> hub) {
  std::make_shared<Connection<PlainStream>>(PlainStream{std::move(socket)}, std::move(arrival),
                                            std::move(hub))
      ->begin();
}

// It goes out in one piece, which a fresh connection takes at once, or not at all.
void refuse_plain(StreamSocket socket, const std::string& sentence) {
  const auto response = passing_problem(503, "connections", sentence, std::chrono::seconds{5});
  std::string bytes;
  append_head(bytes, response, false,
              http_date(std::chrono::floor<std::chrono::seconds>(wall_clock())));
  bytes += response.body;
  beast::error_code ignored;
  socket.non_blocking(true, ignored);
  socket.send(asio::buffer(bytes), 0, ignored);
  socket.shutdown(asio::socket_base::shutdown_send, ignored);
}

}  // namespace catwalk::web
