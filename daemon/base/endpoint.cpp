// SPDX-License-Identifier: Apache-2.0
#include "daemon/base/endpoint.hpp"

#include <arpa/inet.h>

#include <algorithm>
#include <charconv>
#include <span>

namespace catwalk {
namespace {

constexpr std::array<std::uint8_t, 12> v4_prefix{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0xFF, 0xFF};

}  // namespace

bool is_v4(const IpAddress& ip) { return std::ranges::equal(v4_prefix, std::span{ip}.first<12>()); }

std::optional<IpAddress> parse_ip(const std::string& text) {
  IpAddress ip{};
  if (::inet_pton(AF_INET6, text.c_str(), ip.data()) == 1) return ip;
  std::ranges::copy(v4_prefix, ip.begin());
  if (::inet_pton(AF_INET, text.c_str(), ip.data() + v4_prefix.size()) == 1) return ip;
  return std::nullopt;
}

std::string text_of(const IpAddress& ip) {
  std::array<char, INET6_ADDRSTRLEN> text{};
  const bool v4 = is_v4(ip);
  ::inet_ntop(v4 ? AF_INET : AF_INET6, ip.data() + (v4 ? v4_prefix.size() : 0), text.data(),
              text.size());
  return text.data();
}

bool is_loopback(const IpAddress& ip) {
  constexpr IpAddress v6{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1};
  return is_v4(ip) ? ip[v4_prefix.size()] == 127 : ip == v6;
}

bool is_any(const IpAddress& ip) {
  const auto own = std::span{ip}.subspan(is_v4(ip) ? v4_prefix.size() : 0);
  return std::ranges::count(own, 0) == std::ssize(own);
}

std::optional<Endpoint> parse_endpoint(std::string_view text, std::uint16_t lowest_port) {
  const std::size_t colon = text.rfind(':');
  if (colon == std::string_view::npos) return std::nullopt;
  std::string host{text.substr(0, colon)};
  const auto digits = text.substr(colon + 1);
  const bool bracketed = host.size() > 2 && host.front() == '[' && host.back() == ']';
  if (bracketed) host = host.substr(1, host.size() - 2);
  std::uint16_t port = 0;
  const auto [end, bad] = std::from_chars(digits.data(), digits.data() + digits.size(), port);
  if (bad != std::errc{} || end != digits.data() + digits.size() || port < lowest_port)
    return std::nullopt;
  // Brackets are for IPv6 and only for it, or its colons could not be told from the port's.
  const auto ip = parse_ip(host);
  if (!ip || bracketed != (host.find(':') != std::string::npos)) return std::nullopt;
  return Endpoint{*ip, port};
}

std::string text_of(const Endpoint& endpoint) {
  const auto host = text_of(endpoint.ip);
  return (is_v4(endpoint.ip) ? host : '[' + host + ']') + ':' + std::to_string(endpoint.port);
}

}  // namespace catwalk
