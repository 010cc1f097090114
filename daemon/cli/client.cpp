// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/client.hpp"

#include <utility>
// Boost 1.74 needs <utility> first.
#include <boost/asio.hpp>
#include <boost/asio/ssl/host_name_verification.hpp>
#include <boost/beast.hpp>
#include <boost/beast/ssl.hpp>
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
  // TCP or Unix: once connected they are the same.
  using Plain = beast::basic_stream<asio::generic::stream_protocol>;
  using Tls = beast::ssl_stream<Plain>;

  Address address;
  Headers headers;
  std::chrono::milliseconds patience;
  std::function<void(std::chrono::seconds)> told;
  asio::io_context io{1};
  asio::ssl::context tls{asio::ssl::context::tls_client};
  std::string tls_trouble;     // why nobody's certificate can be checked; mostly empty
  std::optional<Plain> plain;  // one of the two, while there is a connection
  std::optional<Tls> secure;
  beast::flat_buffer buffer;

  bool connected() const { return plain || secure; }
  void disconnect() {
    plain.reset();
    secure.reset();
    buffer.clear();
  }
  Plain& lowest() { return secure ? beast::get_lowest_layer(*secure) : *plain; }
  // Calls `use` with the stream of the kind there is.
  template <class Use>
  auto with_stream(Use&& use) {
    return secure ? use(*secure) : use(*plain);
  }

  std::string host() const {
    const bool v6 = address.host.find(':') != std::string::npos;
    return (v6 ? '[' + address.host + ']' : address.host) +
           (address.port.empty() ? "" : ':' + address.port);
  }
  std::string url() const {
    if (!address.socket.empty()) return "unix:" + address.socket;
    return (address.secure ? "https://" : "http://") + host();
  }

  // Beast's time-outs only work on asynchronous operations: start one, and run until it is done.
  template <class Start>
  beast::error_code complete(Start&& start) {
    beast::error_code result;
    start([&result](beast::error_code error, auto&&...) { result = error; });
    io.restart();
    if (told) {
      std::chrono::seconds waited{0};
      while (!io.stopped()) {
        io.run_for(std::chrono::seconds{1});
        if (!io.stopped()) told(++waited);
      }
    }
    io.run();
    return result;
  }

  using Endpoint = asio::generic::stream_protocol::endpoint;
  // Where to try, in this order.
  std::vector<Endpoint> endpoints(beast::error_code& error) {
    if (!address.socket.empty()) {
      if (address.socket.size() < sizeof(sockaddr_un::sun_path))
        return {asio::local::stream_protocol::endpoint{address.socket}};
      error = asio::error::name_too_long;
      return {};
    }
    tcp::resolver resolver{io};
    std::vector<Endpoint> found;
    for (const auto& entry : resolver.resolve(address.host, address.port, error))
      found.emplace_back(entry.endpoint());
    return found;
  }

  beast::error_code connect() {
    beast::error_code error;
    for (const auto& endpoint : endpoints(error)) {
      error = connect_to(endpoint);
      if (!error) break;
    }
    if (!error && address.socket.empty()) lowest().socket().set_option(tcp::no_delay(true), error);
    if (!error && secure) error = shake_hands();
    if (error) disconnect();
    return error;
  }

  beast::error_code connect_to(const Endpoint& endpoint) {
    disconnect();
    if (address.secure)
      secure.emplace(io, tls);
    else
      plain.emplace(io);
    lowest().expires_after(patience);
    return complete([&](auto done) { lowest().async_connect(endpoint, std::move(done)); });
  }

  // The name that the certificate has to have is the one that we were told to call.
  beast::error_code shake_hands() {
    beast::error_code error;
    secure->set_verify_callback(asio::ssl::host_name_verification{address.host}, error);
    if (error) return error;
    // Servers of several names want to know which is meant; addresses are not sent: RFC 6066, 3.
    beast::error_code is_a_name;
    asio::ip::make_address(address.host, is_a_name);
    if (is_a_name) SSL_set_tlsext_host_name(secure->native_handle(), address.host.c_str());
    return complete([&](auto done) {
      secure->async_handshake(asio::ssl::stream_base::client, std::move(done));
    });
  }

  beast::error_code exchange(http::request<http::string_body>& request,
                             http::response<http::string_body>& response) {
    lowest().expires_after(patience);
    return with_stream([&](auto& stream) {
      auto error =
          complete([&](auto done) { http::async_write(stream, request, std::move(done)); });
      if (error) return error;
      http::response_parser<http::string_body> parser;
      parser.body_limit(largest_answer);
      error =
          complete([&](auto done) { http::async_read(stream, buffer, parser, std::move(done)); });
      if (!error) response = parser.release();
      return error;
    });
  }

  std::string unreachable(beast::error_code error) const {
    if (error.category() == asio::error::get_ssl_category())
      return "the daemon at " + url() + " is not trusted, or speaks no TLS (" + error.message() +
             ")" + tls_trouble;
    if (error == beast::error::timeout && connected())
      return "the daemon at " + url() + " has not answered within " +
             std::to_string(std::chrono::duration_cast<std::chrono::seconds>(patience).count()) +
             " s";
    return "there is no daemon at " + url() + " (" + error.message() + ")" + tls_trouble;
  }

  template <class Stream>
  std::string listen_on(Stream stream, const std::string& target,
                        const std::function<bool(std::string)>& take) {
    websocket::stream<Stream> socket{std::move(stream)};
    beast::get_lowest_layer(socket).expires_never();
    socket.set_option(websocket::stream_base::timeout::suggested(beast::role_type::client));
    socket.read_message_max(largest_answer);
    socket.set_option(websocket::stream_base::decorator([this](websocket::request_type& request) {
      for (const auto& [name, value] : headers) request.set(name, value);
    }));
    websocket::response_type response;
    auto error = complete(
        [&](auto done) { socket.async_handshake(response, host(), target, std::move(done)); });
    if (error) {
      if (response.result_int() >= 400)
        return "the daemon refuses the live feed: " + std::to_string(response.result_int()) + ' ' +
               response.body();
      return unreachable(error);
    }
    beast::flat_buffer message;
    for (;;) {
      error = complete([&](auto done) { socket.async_read(message, std::move(done)); });
      if (error) return "the live feed ended (" + error.message() + ")";
      if (!take(beast::buffers_to_string(message.data()))) return {};
      message.consume(message.size());
    }
  }
};

Client::Client(Address address, Headers headers, std::chrono::milliseconds patience)
    : impl_{std::make_unique<Impl>()} {
  impl_->address = std::move(address);
  impl_->headers = std::move(headers);
  impl_->patience = patience;
  if (!impl_->address.secure) return;
  impl_->tls.set_verify_mode(asio::ssl::verify_peer);
  beast::error_code error;
  if (impl_->address.authority.empty())
    impl_->tls.set_default_verify_paths(error);
  else
    impl_->tls.load_verify_file(impl_->address.authority, error);
  if (error)
    impl_->tls_trouble = "; no certificate can be read from " + impl_->address.authority + " (" +
                         error.message() + ")";
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
  bool reused = impl_->connected();
  for (;;) {
    if (!impl_->connected())
      if (const auto error = impl_->connect()) return Failure{impl_->unreachable(error)};
    const auto error = impl_->exchange(request, response);
    if (!error) break;
    if (error == beast::error::timeout) {
      const auto sentence = impl_->unreachable(error);
      impl_->disconnect();
      return Failure{sentence};
    }
    impl_->disconnect();
    // The daemon closes connections that were idle; one that was just opened has no such excuse.
    if (!reused || method != "GET") return Failure{impl_->unreachable(error)};
    reused = false;
  }
  if (!response.keep_alive()) impl_->disconnect();

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

void Client::while_waiting(std::function<void(std::chrono::seconds)> told) {
  impl_->told = std::move(told);
}

std::string Client::listen(const std::string& target,
                           const std::function<bool(std::string)>& take) {
  if (const auto error = impl_->connect()) return impl_->unreachable(error);
  const auto said = impl_->with_stream([&]<class Stream>(Stream& stream) {
    return impl_->listen_on(std::move(stream), target, take);
  });
  impl_->disconnect();
  return said;
}

}  // namespace catwalk::cli
