// SPDX-License-Identifier: Apache-2.0
#include "drivers/udp_line.hpp"

#include <array>
#include <asio/buffer.hpp>
#include <asio/ip/multicast.hpp>
#include <asio/ip/udp.hpp>
#include <asio/steady_timer.hpp>
#include <random>
#include <stdexcept>

#include "drivers/endpoint_asio.hpp"
#include "drivers/networks.hpp"
#include "drivers/notice_post.hpp"

namespace catwalk::drivers {
namespace {

using Udp = asio::ip::udp;

DatagramConfig datagram_config(const UdpLineConfig& config) {
  DatagramConfig out{.nodes = config.nodes, .key = config.key};
  out.epoch = config.epoch;
  out.asks_first = config.asks_first;
  out.speaks = config.speaks;
  out.ours = config.ours;
  out.visitor_seed = std::random_device{}();
  out.reading_age = config.reading_age;
  out.tries = config.tries;
  out.most_commands = config.most_commands;
  return out;
}

asio::ip::address address_from(const std::string& text) {
  asio::error_code error;
  auto address = asio::ip::make_address(text, error);
  if (error) throw std::invalid_argument{"bind address \"" + text + "\" is no IP address"};
  return address;
}

}  // namespace

struct UdpLine::Impl : std::enable_shared_from_this<Impl> {
  Impl(asio::io_context& io, UdpLineConfig the_config)
      : config{std::move(the_config)},
        local{address_from(config.bind_address), config.port},
        engine{datagram_config(config)},
        socket{io},
        wake{io},
        reopen{io},
        post{io},
        pauses{config.first_pause, config.last_pause} {}

  void open() {
    asio::error_code error;
    const auto attempt = [&](auto&& step) {
      if (!error) step();
    };
    attempt([&] { socket.open(local.protocol(), error); });
    attempt([&] { socket.non_blocking(true, error); });
    attempt([&] { socket.set_option(asio::socket_base::broadcast{true}, error); });
    attempt([&] { socket.bind(local, error); });
    attempt([&] { aim_searches(error); });
    if (error) {
      asio::error_code ignored;
      socket.close(ignored);
      engine.down(Clock::now(), "cannot bind " + config.bind_address + " port " +
                                    std::to_string(config.port) + ": " + error.message());
      reopen.expires_after(pauses.next());
      reopen.async_wait([weak = weak_from_this()](const asio::error_code& aborted) {
        const auto self = weak.lock();
        if (!aborted && self && self->running) self->open();
      });
      flush();
      return;
    }
    pauses.succeeded();
    // A burst of answers from many nodes has to fit; the system may give less.
    socket.set_option(asio::socket_base::receive_buffer_size{1 << 20}, error);
    engine.up(Clock::now());
    wait_for_datagrams();
    flush();
  }

  // A search of the group stays on the network that the line is on, and is heard on this machine.
  void aim_searches(asio::error_code& error) {
    namespace multicast = asio::ip::multicast;
    if (!local.address().is_v4()) return;
    socket.set_option(multicast::hops{1}, error);
    if (!error) socket.set_option(multicast::enable_loopback{true}, error);
    if (error || local.address().is_unspecified()) return;
    socket.set_option(multicast::outbound_interface{local.address().to_v4()}, error);
  }

  void wait_for_datagrams() {
    socket.async_wait(Udp::socket::wait_read,
                      [weak = weak_from_this(), life = life](const asio::error_code& error) {
                        const auto self = weak.lock();
                        if (!self || !self->running || life != self->life) return;
                        if (error == asio::error::operation_aborted) return;
                        self->receive_all();
                        self->flush();
                        self->wait_for_datagrams();
                      });
  }

  void receive_all() {
    // Bounded, so that a flood leaves room for the timers and has other lines wait a moment only.
    constexpr int most_at_once = 64;
    for (int i = 0; i < most_at_once; ++i) {
      Udp::endpoint from;
      asio::error_code error;
      const std::size_t count = socket.receive_from(asio::buffer(incoming), from, 0, error);
      if (error == asio::error::would_block || error == asio::error::try_again) return;
      // Errors of an earlier sending are reported here too; the answer that is missing will tell.
      if (error) continue;
      engine.received(protocol::ByteView{incoming}.first(count), from_asio(from), Clock::now());
    }
  }

  void flush() {
    Output out = engine.take();
    if (socket.is_open()) {
      for (const Transmission& transmission : out.send) {
        // Not sent is as good as lost on the way: it is sent again.
        asio::error_code ignored;
        socket.send_to(asio::buffer(transmission.bytes),
                       to_asio(transmission.to, local.address().is_v4()), 0, ignored);
      }
    }
    post.send(std::move(out.notices));
    // Deadlines mostly move away as answers come: the wait under way is kept, and looks again.
    const auto at = engine.deadline();
    if (!at || (waking_at && *waking_at <= *at)) return;
    waking_at = at;
    wake.expires_at(*at);
    wake.async_wait([weak = weak_from_this()](const asio::error_code& error) {
      const auto self = weak.lock();
      if (error || !self || !self->running) return;
      self->waking_at.reset();
      self->engine.tick(Clock::now());
      self->flush();
    });
  }

  UdpLineConfig config;
  Udp::endpoint local;
  DatagramEngine engine;
  Udp::socket socket;
  asio::steady_timer wake;
  std::optional<Clock::time_point> waking_at;
  asio::steady_timer reopen;
  NoticePost post;
  Backoff pauses;
  std::array<std::uint8_t, 2048> incoming{};
  unsigned life = 0;
  bool running = false;
};

UdpLine::UdpLine(asio::io_context& io, UdpLineConfig config)
    : impl_{std::make_shared<Impl>(io, std::move(config))} {}

UdpLine::~UdpLine() { impl_->running = false; }

void UdpLine::start(NoticeHandler handler) {
  if (impl_->running) return;
  impl_->running = true;
  ++impl_->life;
  impl_->post.open(std::move(handler));
  impl_->open();
}

void UdpLine::speak_as(protocol::Epoch epoch, bool takes_over) {
  impl_->engine.speak_as(epoch, takes_over, Clock::now());
  impl_->flush();
}

void UdpLine::fall_quiet() {
  impl_->engine.fall_quiet(Clock::now());
  impl_->flush();
}

void UdpLine::stop() {
  if (!impl_->running) return;
  impl_->running = false;
  asio::error_code ignored;
  impl_->socket.close(ignored);
  impl_->wake.cancel();
  impl_->waking_at.reset();
  impl_->reopen.cancel();
  impl_->engine.down(Clock::now(), "stopped");
  impl_->post.close(impl_->engine.take().notices);
}

void UdpLine::submit(Command command) {
  impl_->engine.submit(std::move(command), Clock::now());
  impl_->flush();
}

void UdpLine::discover() {
  // Networks come and go: they are looked at each time.
  impl_->engine.discover(Clock::now(), search_points(own_networks(), from_asio(impl_->local),
                                                     impl_->config.search_port));
  impl_->flush();
}

LineCounters UdpLine::counters() const { return impl_->engine.counters(); }

std::uint16_t UdpLine::local_port() const {
  asio::error_code error;
  const auto bound = impl_->socket.local_endpoint(error);
  return error ? std::uint16_t{0} : bound.port();
}

}  // namespace catwalk::drivers
