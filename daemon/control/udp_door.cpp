// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/udp_door.hpp"

#include <algorithm>
#include <array>
#include <asio/buffer.hpp>
#include <asio/io_context.hpp>
#include <asio/ip/udp.hpp>
#include <asio/ip/v6_only.hpp>
#include <asio/steady_timer.hpp>
#include <chrono>
#include <optional>
#include <utility>

#include "daemon/base/overloaded.hpp"
#include "daemon/control/osc_codec.hpp"

namespace catwalk::control {
namespace {

using Udp = asio::ip::udp;

Moment now() {
  return {std::chrono::floor<std::chrono::microseconds>(std::chrono::system_clock::now()),
          std::chrono::steady_clock::now()};
}

Peer from_asio(const Udp::endpoint& endpoint) {
  const auto address = endpoint.address();
  if (address.is_v4()) return {address.to_string(), endpoint.port()};
  auto v6 = address.to_v6();
  const auto scope = static_cast<std::uint32_t>(v6.scope_id());
  v6.scope_id(0);
  return {v6.to_string(), endpoint.port(), scope};
}

Udp::endpoint to_asio(const Peer& peer) {
  asio::error_code error;
  auto address = asio::ip::make_address(peer.host, error);
  if (peer.scope != 0) {
    auto v6 = address.to_v6();
    v6.scope_id(peer.scope);
    address = v6;
  }
  return {address, peer.port};
}

// As from_asio() writes it, so that addresses can be compared as texts.
std::string shortest(const std::string& host) {
  asio::error_code error;
  const auto address = asio::ip::make_address(host, error);
  return error ? host : address.to_string();
}

Setup with_shortest_hosts(Setup setup) {
  for (auto& sender : setup.senders) sender.host = shortest(sender.host);
  for (auto& subscriber : setup.subscribers) subscriber.host = shortest(subscriber.host);
  return setup;
}

}  // namespace

struct UdpDoor::Impl : std::enable_shared_from_this<Impl> {
  Impl(asio::io_context& io, const DoorSetup& setup, rack::SnapshotPtr snapshot, Ways the_ways)
      : control{with_shortest_hosts(setup.peers), std::move(snapshot)},
        ways{std::move(the_ways)},
        socket{io},
        wake{io} {}

  asio::error_code open(const DoorSetup& setup) {
    asio::error_code error;
    const auto address = asio::ip::make_address(setup.bind_host, error);
    const Udp::endpoint local{address, setup.bind_port};
    const auto attempt = [&](auto&& step) {
      if (!error) step();
    };
    attempt([&] { socket.open(local.protocol(), error); });
    attempt([&] { socket.non_blocking(true, error); });
    // Else IPv4 senders would come as IPv6 addresses that nobody has configured.
    if (address.is_v6()) attempt([&] { socket.set_option(asio::ip::v6_only{true}, error); });
    attempt([&] { socket.bind(local, error); });
    return error;
  }

  void listen() {
    socket.async_wait(Udp::socket::wait_read,
                      [weak = weak_from_this()](const asio::error_code& error) {
                        const auto self = weak.lock();
                        if (!self || error == asio::error::operation_aborted) return;
                        self->receive_all();
                        self->listen();
                      });
  }

  void receive_all() {
    // Bounded, so that a flood leaves room for the lines.
    constexpr int most_at_once = 64;
    for (int i = 0; i < most_at_once; ++i) {
      Udp::endpoint from;
      asio::error_code error;
      const auto count = socket.receive_from(asio::buffer(incoming), from, 0, error);
      if (error == asio::error::would_block || error == asio::error::try_again) return;
      // Errors of an earlier sending are reported here too.
      if (error) continue;
      carry_out(
          control.received(from_asio(from), protocol::ByteView{incoming}.first(count), now()));
    }
  }

  void carry_out(Effects effects) {
    for (auto& effect : effects)
      std::visit(
          Overloaded{
              [this](const Transmission& what) { send(what); },
              [this](Ask& what) {
                ways.ask(std::move(what.request), [weak = weak_from_this(), ticket = what.ticket](
                                                      const rack::Answer& answer) {
                  if (const auto self = weak.lock())
                    self->carry_out(self->control.answered(ticket, answer));
                });
              },
              [this](ComputePreview& what) {
                ways.preview(
                    std::move(what.snapshot), std::move(what.segment),
                    [weak = weak_from_this(), ticket = what.ticket](const rack::Preview& preview) {
                      if (const auto self = weak.lock())
                        self->carry_out(self->control.previewed(ticket, preview));
                    });
              },
              [this](const Note& what) { ways.note(what.line); },
          },
          effect);
    ways.counted(control.counters());
    set_timer();
  }

  void send(const Transmission& what) {
    asio::error_code error;
    socket.send_to(asio::buffer(what.bytes), to_asio(what.to), 0, error);
    if (error) control.not_sent();
  }

  void set_timer() {
    const auto due = control.deadline();
    if (!due) return;
    const auto at = std::max(*due, std::chrono::steady_clock::now());
    // A wait that ends too early looks again.
    if (waking_at && *waking_at <= at) return;
    waking_at = at;
    wake.expires_at(at);
    wake.async_wait([weak = weak_from_this()](const asio::error_code& error) {
      const auto self = weak.lock();
      if (error || !self) return;
      self->waking_at.reset();
      self->carry_out(self->control.tick(std::chrono::steady_clock::now()));
    });
  }

  ShowControl control;
  Ways ways;
  Udp::socket socket;
  asio::steady_timer wake;
  std::optional<Steady> waking_at;
  // One byte more than is allowed, so that what is cut off shows.
  std::array<std::uint8_t, longest_packet + 1> incoming{};
};

UdpDoor::UdpDoor(std::shared_ptr<Impl> impl) : impl_{std::move(impl)} {}

UdpDoor::~UdpDoor() {
  asio::error_code ignored;
  impl_->socket.close(ignored);
  impl_->wake.cancel();
}

Result<std::unique_ptr<UdpDoor>, std::string> UdpDoor::open(asio::io_context& io,
                                                            const DoorSetup& setup,
                                                            rack::SnapshotPtr snapshot, Ways ways) {
  auto impl = std::make_shared<Impl>(io, setup, std::move(snapshot), std::move(ways));
  if (const auto error = impl->open(setup))
    return Failure{"show control: cannot bind " + setup.bind_host + " port " +
                   std::to_string(setup.bind_port) + ": " + error.message()};
  impl->listen();
  impl->carry_out(impl->control.tick(std::chrono::steady_clock::now()));
  return std::unique_ptr<UdpDoor>{new UdpDoor{std::move(impl)}};
}

void UdpDoor::published(rack::SnapshotPtr snapshot) {
  impl_->carry_out(impl_->control.published(std::move(snapshot), std::chrono::steady_clock::now()));
}

void UdpDoor::aborted() { impl_->carry_out(impl_->control.aborted()); }

std::uint16_t UdpDoor::port() const {
  asio::error_code error;
  const auto bound = impl_->socket.local_endpoint(error);
  return error ? std::uint16_t{0} : bound.port();
}

}  // namespace catwalk::control
