// SPDX-License-Identifier: Apache-2.0
// The least that Beast can do: one thread, keep-alive, always the same answer. Its header lines and
// body come from the file that is named: what another server said, as bytes.
#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/asio.hpp>
#include <boost/beast.hpp>
#include <fstream>
#include <iostream>
#include <memory>
#include <optional>

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
using tcp = asio::ip::tcp;

namespace {

using Response = http::response<http::string_body>;

class Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(tcp::socket socket, const Response& answer)
      : stream_{std::move(socket)}, answer_{answer} {}

  void read() {
    request_ = {};
    http::async_read(stream_, buffer_, request_,
                     [self = shared_from_this()](beast::error_code error, std::size_t) {
                       if (!error) self->write();
                     });
  }

 private:
  void write() {
    response_ = answer_;
    response_.keep_alive(request_.keep_alive());
    http::async_write(stream_, response_,
                      [self = shared_from_this()](beast::error_code error, std::size_t) {
                        if (!error) self->read();
                      });
  }

  beast::tcp_stream stream_;
  const Response& answer_;
  beast::flat_buffer buffer_;
  http::request<http::string_body> request_;
  Response response_;
};

Response read_answer(const char* file) {
  std::ifstream stream{file, std::ios::binary};
  const std::string bytes{std::istreambuf_iterator<char>{stream}, {}};
  http::response_parser<http::string_body> parser;
  parser.eager(true);
  beast::error_code error;
  parser.put(asio::buffer(bytes), error);
  if (error || !parser.is_done()) throw std::runtime_error{"the file is no whole answer"};
  return parser.release();
}

void accept(tcp::acceptor& acceptor, const Response& answer) {
  acceptor.async_accept([&](beast::error_code error, tcp::socket socket) {
    if (error) return;
    socket.set_option(tcp::no_delay(true));
    std::make_shared<Connection>(std::move(socket), answer)->read();
    accept(acceptor, answer);
  });
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  const auto answer = read_answer(argv[1]);
  asio::io_context io{1};
  tcp::acceptor acceptor{io, {asio::ip::address_v4::loopback(), 0}};
  accept(acceptor, answer);
  std::cout << "ready " << acceptor.local_endpoint().port() << std::endl;
  io.run();
}
