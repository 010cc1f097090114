// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/bare_broadcast.hpp"

#include <utility>
// Boost 1.74 needs <utility> first.
#include <atomic>
#include <boost/asio.hpp>
#include <boost/beast.hpp>
#include <list>
#include <thread>

namespace catwalk::test {

namespace asio = boost::asio;
namespace beast = boost::beast;
using tcp = asio::ip::tcp;
using Socket = beast::websocket::stream<beast::tcp_stream>;

struct BareBroadcast::Impl {
  asio::io_context io{1};
  tcp::acceptor acceptor{io, {asio::ip::address_v4::loopback(), 0}};
  std::list<Socket> sockets;
  std::atomic<std::size_t> panels{0};
  std::size_t writing = 0;
  std::thread thread;

  void accept() {
    acceptor.async_accept([this](beast::error_code error, tcp::socket socket) {
      if (error) return;
      socket.set_option(tcp::no_delay(true));
      auto& panel = sockets.emplace_back(beast::tcp_stream{std::move(socket)});
      panel.async_accept([this, &panel](beast::error_code trouble) {
        if (trouble) return;
        panel.text(true);
        ++panels;
      });
      accept();
    });
  }
};

BareBroadcast::BareBroadcast() : impl_{std::make_unique<Impl>()} {
  impl_->accept();
  impl_->thread = std::thread{[this] { impl_->io.run(); }};
}

BareBroadcast::~BareBroadcast() {
  impl_->io.stop();
  impl_->thread.join();
}

std::uint16_t BareBroadcast::port() const { return impl_->acceptor.local_endpoint().port(); }
std::size_t BareBroadcast::panels() const { return impl_->panels; }

void BareBroadcast::tell(std::shared_ptr<const std::string> text) {
  asio::post(impl_->io, [this, text = std::move(text)] {
    // A panel may have read the text before its write has come to its end here, and Beast forgets a
    // write that begins while another is under way.
    if (impl_->writing > 0) return tell(text);
    for (auto& socket : impl_->sockets) {
      ++impl_->writing;
      socket.async_write(asio::buffer(*text),
                         [this, text](beast::error_code, std::size_t) { --impl_->writing; });
    }
  });
}

}  // namespace catwalk::test
