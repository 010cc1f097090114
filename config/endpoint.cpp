// SPDX-License-Identifier: Apache-2.0
#include "config/endpoint.hpp"

namespace catwalk::config {
namespace {

constexpr std::size_t longest_endpoint = 64;

}  // namespace

std::optional<Endpoint> read_endpoint(const Cursor& at, std::uint16_t lowest_port) {
  const auto text = at.text(1, longest_endpoint);
  if (!text) return std::nullopt;
  const auto endpoint = parse_endpoint(*text, 0);
  if (!endpoint) {
    at.report("is not an address and a port", std::string{endpoint_rule});
  } else if (endpoint->port < lowest_port) {
    at.report("has no port to send to", "ports " + std::to_string(lowest_port) + " to 65535");
    return std::nullopt;
  }
  return endpoint;
}

std::optional<IpAddress> read_ip_address(const Cursor& at) {
  const auto text = at.text(1, longest_endpoint);
  if (!text) return std::nullopt;
  const auto ip = parse_ip(*text);
  if (!ip) at.report("is not an IP address", "such as \"127.0.0.1\", \"0.0.0.0\" or \"::1\"");
  return ip;
}

std::optional<Sender> read_sender(const Cursor& at) {
  const auto text = at.text(1, longest_endpoint);
  if (!text) return std::nullopt;
  if (const auto ip = parse_ip(*text)) return Sender{.ip = *ip, .port = std::nullopt};
  if (const auto endpoint = parse_endpoint(*text))
    return Sender{.ip = endpoint->ip, .port = endpoint->port};
  at.report("is not the address of a sender",
            "an IP address, such as \"192.0.2.7\" or \"2001:db8::7\", or one with the only port it "
            "sends from, such as \"192.0.2.7:53000\" or \"[2001:db8::7]:53000\"");
  return std::nullopt;
}

}  // namespace catwalk::config
