// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/client.hpp"

#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/asio.hpp>
#include <boost/beast.hpp>
#include <optional>

namespace catwalk::cli {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
namespace websocket = beast::websocket;
using tcp = asio::ip::tcp;

namespace {

constexpr std::size_t largest_answer = std::size_t{64} * 1024 * 1024;  // bytes

}  // namespace

std::string escaped(const std::string& text) {
  static constexpr char digits[] = "0123456789ABCDEF";
  std::string result;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if ((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
        c == '_' || c == '.') {
      result += c;
    } else {
      result += '%';
      result += digits[byte >> 4];
      result += digits[byte & 15];
    }
  }
  return result;
}

struct Client::Impl {
  Address address;
  Headers headers;
  std::chrono::milliseconds patience;
  asio::io_context io{1};
  std::optional<beast::tcp_stream> stream;
  beast::flat_buffer buffer;

  std::string host() const {
    const bool v6 = address.host.find(':') != std::string::npos;
    return (v6 ? '[' + address.host + ']' : address.host) + ':' + address.port;
  }

  // Beast's time-outs only work on asynchronous operations: start one, and run until it is done.
  template <class Start>
  beast::error_code complete(Start&& start) {
    beast::error_code result;
    start([&result](beast::error_code error, auto&&...) { result = error; });
    io.restart();
    io.run();
    return result;
  }

  beast::error_code connect() {
    beast::error_code error;
    tcp::resolver resolver{io};
    const auto found = resolver.resolve(address.host, address.port, error);
    if (error) return error;
    stream.emplace(io);
    stream->expires_after(patience);
    error = complete([&](auto done) { stream->async_connect(found, std::move(done)); });
    if (error) stream.reset();
    if (stream) stream->socket().set_option(tcp::no_delay(true), error);
    return error;
  }

  beast::error_code exchange(http::request<http::string_body>& request,
                             http::response<http::string_body>& response) {
    stream->expires_after(patience);
    auto error = complete([&](auto done) { http::async_write(*stream, request, std::move(done)); });
    if (error) return error;
    http::response_parser<http::string_body> parser;
    parser.body_limit(largest_answer);
    error =
        complete([&](auto done) { http::async_read(*stream, buffer, parser, std::move(done)); });
    if (!error) response = parser.release();
    return error;
  }

  std::string unreachable(beast::error_code error) const {
    return "there is no daemon at http://" + host() + " (" + error.message() + ")";
  }
};

Client::Client(Address address, Headers headers, std::chrono::milliseconds patience)
    : impl_{std::make_unique<Impl>()} {
  impl_->address = std::move(address);
  impl_->headers = std::move(headers);
  impl_->patience = patience;
}
Client::Client(Client&&) noexcept = default;
Client& Client::operator=(Client&&) noexcept = default;
Client::~Client() = default;

Result<ClientResponse, std::string> Client::request(const std::string& method,
                                                    const std::string& target,
                                                    const std::string& body,
                                                    const Headers& headers) {
  http::request<http::string_body> request;
  request.method_string(method);
  request.target(target);
  request.version(11);
  request.set(http::field::host, impl_->host());
  for (const auto& [name, value] : impl_->headers) request.set(name, value);
  if (!body.empty()) request.set(http::field::content_type, "application/json");
  for (const auto& [name, value] : headers) request.set(name, value);
  request.body() = body;
  request.prepare_payload();

  http::response<http::string_body> response;
  bool reused = impl_->stream.has_value();
  for (;;) {
    if (!impl_->stream)
      if (const auto error = impl_->connect()) return Failure{impl_->unreachable(error)};
    const auto error = impl_->exchange(request, response);
    if (!error) break;
    impl_->stream.reset();
    impl_->buffer.clear();
    // The daemon closes connections that were idle; one that was just opened has no such excuse.
    if (!reused || method != "GET") return Failure{impl_->unreachable(error)};
    reused = false;
  }
  if (!response.keep_alive()) impl_->stream.reset();

  ClientResponse result;
  result.status = static_cast<int>(response.result_int());
  for (const auto& field : response) {
    std::string name{field.name_string()};
    for (auto& c : name)
      if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    result.headers[name] = std::string{field.value()};
  }
  result.body = std::move(response.body());
  return result;
}

std::string Client::listen(const std::string& target,
                           const std::function<bool(std::string)>& take) {
  if (const auto error = impl_->connect()) return impl_->unreachable(error);
  websocket::stream<beast::tcp_stream> socket{std::move(*impl_->stream)};
  impl_->stream.reset();
  beast::get_lowest_layer(socket).expires_never();
  socket.set_option(websocket::stream_base::timeout::suggested(beast::role_type::client));
  socket.read_message_max(largest_answer);
  socket.set_option(websocket::stream_base::decorator([this](websocket::request_type& request) {
    for (const auto& [name, value] : impl_->headers) request.set(name, value);
  }));
  websocket::response_type response;
  auto error = impl_->complete(
      [&](auto done) { socket.async_handshake(response, impl_->host(), target, std::move(done)); });
  if (error) {
    if (response.result_int() >= 400)
      return "the daemon refuses the live feed: " + std::to_string(response.result_int()) + ' ' +
             response.body();
    return impl_->unreachable(error);
  }
  beast::flat_buffer buffer;
  for (;;) {
    error = impl_->complete([&](auto done) { socket.async_read(buffer, std::move(done)); });
    if (error) return "the live feed ended (" + error.message() + ")";
    if (!take(beast::buffers_to_string(buffer.data()))) return {};
    buffer.consume(buffer.size());
  }
}

}  // namespace catwalk::cli
