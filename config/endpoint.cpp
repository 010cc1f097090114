// SPDX-License-Identifier: Apache-2.0
#include "config/endpoint.hpp"

#include <arpa/inet.h>

#include <charconv>

namespace catwalk::config {
namespace {

constexpr std::size_t longest_endpoint = 64;

std::optional<std::uint16_t> parse_port(std::string_view digits) {
  std::uint16_t port = 0;
  const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), port);
  if (read.ec != std::errc{} || read.ptr != digits.data() + digits.size()) return std::nullopt;
  return port;
}

std::optional<Endpoint> parse_endpoint(const std::string& text) {
  const std::size_t colon = text.rfind(':');
  if (colon == std::string::npos) return std::nullopt;
  std::string host = text.substr(0, colon);
  const auto port = parse_port(std::string_view{text}.substr(colon + 1));
  const bool bracketed = host.size() > 2 && host.front() == '[' && host.back() == ']';
  if (bracketed) host = host.substr(1, host.size() - 2);
  // Brackets are for IPv6 and only for it, or its colons could not be told from the port's.
  if (!port || !is_ip_address(host) || bracketed != (host.find(':') != std::string::npos))
    return std::nullopt;
  return Endpoint{std::move(host), *port};
}

}  // namespace

bool is_ip_address(const std::string& text) {
  in_addr v4{};
  in6_addr v6{};
  return ::inet_pton(AF_INET, text.c_str(), &v4) == 1 ||
         ::inet_pton(AF_INET6, text.c_str(), &v6) == 1;
}

bool is_loopback(const std::string& ip_address) {
  in_addr v4{};
  if (::inet_pton(AF_INET, ip_address.c_str(), &v4) == 1) return ntohl(v4.s_addr) >> 24 == 127;
  in6_addr v6{};
  return ::inet_pton(AF_INET6, ip_address.c_str(), &v6) == 1 && IN6_IS_ADDR_LOOPBACK(&v6);
}

bool is_any_address(const std::string& ip_address) {
  in_addr v4{};
  if (::inet_pton(AF_INET, ip_address.c_str(), &v4) == 1) return v4.s_addr == 0;
  in6_addr v6{};
  return ::inet_pton(AF_INET6, ip_address.c_str(), &v6) == 1 && IN6_IS_ADDR_UNSPECIFIED(&v6);
}

std::optional<Endpoint> read_endpoint(const Cursor& at, std::uint16_t lowest_port) {
  const auto text = at.text(1, longest_endpoint);
  if (!text) return std::nullopt;
  auto endpoint = parse_endpoint(*text);
  if (!endpoint) {
    at.report("is not an address and a port", std::string{endpoint_rule});
  } else if (endpoint->port < lowest_port) {
    at.report("has no port to send to", "ports " + std::to_string(lowest_port) + " to 65535");
    return std::nullopt;
  }
  return endpoint;
}

std::optional<std::string> read_ip_address(const Cursor& at) {
  auto text = at.text(1, longest_endpoint);
  if (!text || is_ip_address(*text)) return text;
  at.report("is not an IP address", "such as \"127.0.0.1\", \"0.0.0.0\" or \"::1\"");
  return std::nullopt;
}

std::optional<Sender> read_sender(const Cursor& at) {
  auto text = at.text(1, longest_endpoint);
  if (!text) return std::nullopt;
  if (is_ip_address(*text)) return Sender{.host = std::move(*text), .port = std::nullopt};
  if (auto endpoint = parse_endpoint(*text); endpoint && endpoint->port > 0)
    return Sender{.host = std::move(endpoint->host), .port = endpoint->port};
  at.report("is not the address of a sender",
            "an IP address, such as \"192.0.2.7\" or \"2001:db8::7\", or one with the only port it "
            "sends from, such as \"192.0.2.7:53000\" or \"[2001:db8::7]:53000\"");
  return std::nullopt;
}

}  // namespace catwalk::config
