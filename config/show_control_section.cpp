// SPDX-License-Identifier: Apache-2.0
#include "config/show_control_section.hpp"

#include <utility>

#include "config/endpoint.hpp"

namespace catwalk::config {
namespace {

constexpr std::size_t most_senders = 64;
constexpr std::size_t most_subscribers = 64;

// Whether somebody at this address can exchange datagrams with a socket that is bound to `own`.
bool within_reach(const Cursor& at, const IpAddress& address, const IpAddress& own) {
  if (is_any(address)) {
    at.report("is nobody's address", "the address of one machine");
  } else if (is_v4(address) != is_v4(own)) {
    at.report("is out of reach from " + in_quotes(text_of(own)),
              std::string{is_v4(own) ? "IPv4" : "IPv6"} + " addresses, like that of \"bind\"");
  } else if (is_loopback(own) && !is_loopback(address)) {
    at.report("is out of reach from " + in_quotes(text_of(own)) + ", which is this machine alone",
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
  Once<std::pair<IpAddress, std::optional<std::uint16_t>>> senders;
  for (const Cursor& element : object["senders"].elements(1, most_senders)) {
    const auto sender = read_sender(element);
    if (!sender || !senders.add({sender->ip, sender->port}, element)) continue;
    if (bind && within_reach(element, sender->ip, bind->ip)) setup.senders.push_back(*sender);
  }
  Once<Endpoint> subscribers;
  for (const Cursor& element : object["subscribers"].elements(0, most_subscribers)) {
    const auto subscriber = read_endpoint(element, 1);
    if (!subscriber || !subscribers.add(*subscriber, element)) continue;
    if (bind && within_reach(element, subscriber->ip, bind->ip))
      setup.subscribers.push_back(*subscriber);
  }
  return setup;
}

}  // namespace catwalk::config
