// SPDX-License-Identifier: Apache-2.0
#include "config/show_control_section.hpp"

#include <utility>

#include "config/endpoint.hpp"

namespace catwalk::config {
namespace {

constexpr std::size_t most_senders = 64;
constexpr std::size_t most_subscribers = 64;

bool is_v6(const std::string& ip_address) { return ip_address.find(':') != std::string::npos; }

// Whether somebody at this address can exchange datagrams with a socket that is bound to `own`.
bool within_reach(const Cursor& at, const std::string& address, const std::string& own) {
  if (is_any_address(address)) {
    at.report("is nobody's address", "the address of one machine");
  } else if (is_v6(address) != is_v6(own)) {
    at.report("is out of reach from " + in_quotes(own),
              std::string{is_v6(own) ? "IPv6" : "IPv4"} + " addresses, like that of \"bind\"");
  } else if (is_loopback(own) && !is_loopback(address)) {
    at.report("is out of reach from " + in_quotes(own) + ", which is this machine alone",
              "addresses of this machine, or another \"bind\"");
  } else {
    return true;
  }
  return false;
}

}  // namespace

std::optional<ShowControlSetup> read_show_control(const Cursor& at) {
  if (!at.present()) return std::nullopt;
  const Object object{at, {"bind", "senders"}, {"subscribers"}};
  ShowControlSetup setup;
  const auto bind = read_endpoint(object["bind"], 0);
  setup.bind = bind.value_or(Endpoint{});
  Once<std::pair<std::string, std::optional<std::uint16_t>>> senders;
  for (const Cursor& element : object["senders"].elements(1, most_senders)) {
    auto sender = read_sender(element);
    if (!sender || !senders.add({sender->host, sender->port}, element)) continue;
    if (bind && within_reach(element, sender->host, bind->host))
      setup.senders.push_back(std::move(*sender));
  }
  Once<std::pair<std::string, std::uint16_t>> subscribers;
  for (const Cursor& element : object["subscribers"].elements(0, most_subscribers)) {
    auto subscriber = read_endpoint(element, 1);
    if (!subscriber || !subscribers.add({subscriber->host, subscriber->port}, element)) continue;
    if (bind && within_reach(element, subscriber->host, bind->host))
      setup.subscribers.push_back(std::move(*subscriber));
  }
  return setup;
}

}  // namespace catwalk::config
