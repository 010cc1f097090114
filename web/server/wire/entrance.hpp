// SPDX-License-Identifier: Apache-2.0
#pragma once
// An address that connections come in by, for as long as it lives. Internal to the room.

#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/asio.hpp>
#include <functional>

namespace catwalk::web {

template <class Protocol>
class Entrance {
 public:
  using Socket = typename Protocol::socket;
  using Endpoint = typename Protocol::endpoint;

  Entrance(boost::asio::io_context& io, std::function<void(Socket)> admit)
      : acceptor_{io}, pause_{io}, admit_{std::move(admit)} {}

  // Throws boost::system::system_error if the address cannot be had.
  void listen(const Endpoint& endpoint) {
    acceptor_.open(endpoint.protocol());
    acceptor_.set_option(boost::asio::socket_base::reuse_address(true));
    acceptor_.bind(endpoint);
    acceptor_.listen();
    accept();
  }

  // Nobody comes in any more.
  void shut() {
    boost::system::error_code ignored;
    acceptor_.close(ignored);
    pause_.cancel();
  }

  Endpoint endpoint() const { return acceptor_.local_endpoint(); }

 private:
  void accept() {
    acceptor_.async_accept([this](boost::system::error_code error, Socket socket) {
      if (error == boost::asio::error::operation_aborted) return;
      if (!error) {
        admit_(std::move(socket));
        return accept();
      }
      // Out of descriptors, most likely: try again when some may have been given back.
      pause_.expires_after(std::chrono::milliseconds{100});
      pause_.async_wait([this](boost::system::error_code stopped) {
        if (!stopped) accept();
      });
    });
  }

  typename Protocol::acceptor acceptor_;
  boost::asio::steady_timer pause_;
  std::function<void(Socket)> admit_;
};

}  // namespace catwalk::web
