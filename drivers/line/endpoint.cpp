// SPDX-License-Identifier: Apache-2.0
#include "drivers/line/endpoint.hpp"

#include <charconv>

#include "drivers/line/endpoint_asio.hpp"

namespace catwalk::drivers {

std::optional<Endpoint> endpoint_at(const std::string& ip, std::uint16_t port) {
  asio::error_code error;
  const auto address = asio::ip::make_address(ip, error);
  if (error || port == 0) return std::nullopt;
  return from_asio(asio::ip::udp::endpoint{address, port});
}

std::optional<Endpoint> parse_endpoint(std::string_view text) {
  const std::size_t colon = text.rfind(':');
  if (colon == std::string_view::npos) return std::nullopt;
  std::string_view host = text.substr(0, colon);
  const std::string_view port_text = text.substr(colon + 1);
  const bool bracketed = host.size() >= 2 && host.front() == '[' && host.back() == ']';
  if (bracketed) host = host.substr(1, host.size() - 2);
  std::uint16_t port = 0;
  const auto [end, bad] =
      std::from_chars(port_text.data(), port_text.data() + port_text.size(), port);
  if (bad != std::errc{} || end != port_text.data() + port_text.size()) return std::nullopt;
  // Brackets are for IPv6, and only for it.
  if (bracketed != (host.find(':') != std::string_view::npos)) return std::nullopt;
  return endpoint_at(std::string{host}, port);
}

std::string text_of(const Endpoint& endpoint) {
  const auto end = to_asio(endpoint, true);
  const std::string host = end.address().to_string();
  const std::string port = std::to_string(end.port());
  return end.address().is_v6() ? "[" + host + "]:" + port : host + ":" + port;
}

}  // namespace catwalk::drivers
