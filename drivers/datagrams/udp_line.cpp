// SPDX-License-Identifier: Apache-2.0
#include "drivers/datagrams/udp_line.hpp"

#include <array>
#include <asio/buffer.hpp>
#include <asio/ip/multicast.hpp>
#include <asio/ip/udp.hpp>
#include <random>
#include <stdexcept>

#include "drivers/line/endpoint_asio.hpp"
#include "drivers/line/line_shell.hpp"
#include "drivers/line/networks.hpp"

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

struct UdpSocketConfig {
  Udp::endpoint local;
  std::string bind_address;  // as it was asked for
  std::uint16_t search_port = 0;
};

class UdpSocket {
 public:
  UdpSocket(asio::io_context& io, UdpSocketConfig config)
      : config_{std::move(config)}, socket_{io} {}

  std::optional<std::string> open(std::weak_ptr<DeviceUser> user) {
    asio::error_code error;
    const auto attempt = [&](auto&& step) {
      if (!error) step();
    };
    attempt([&] { socket_.open(config_.local.protocol(), error); });
    attempt([&] { socket_.non_blocking(true, error); });
    attempt([&] { socket_.set_option(asio::socket_base::broadcast{true}, error); });
    attempt([&] { socket_.bind(config_.local, error); });
    attempt([&] { aim_searches(error); });
    if (error)
      return "cannot bind " + config_.bind_address + " port " +
             std::to_string(config_.local.port()) + ": " + error.message();
    // A burst of answers from many nodes has to fit; the system may give less.
    socket_.set_option(asio::socket_base::receive_buffer_size{1 << 20}, error);
    user_ = std::move(user);
    ++life_;
    wait_for_datagrams();
    return std::nullopt;
  }
  void close() {
    asio::error_code ignored;
    socket_.close(ignored);
  }
  bool is_open() const { return socket_.is_open(); }

  void send(const std::vector<Transmission>& transmissions) {
    for (const auto& transmission : transmissions) {
      // Not sent is as good as lost on the way: it is sent again.
      asio::error_code ignored;
      socket_.send_to(asio::buffer(transmission.bytes),
                      to_asio(transmission.to, config_.local.address().is_v4()), 0, ignored);
    }
  }

  // Networks come and go: they are looked at each time.
  std::vector<Endpoint> search_points() const {
    return drivers::search_points(own_networks(), from_asio(config_.local), config_.search_port);
  }

  std::uint16_t port() const {
    asio::error_code error;
    const auto bound = socket_.local_endpoint(error);
    return error ? std::uint16_t{0} : bound.port();
  }

 private:
  // A search of the group stays on the network that the line is on, and is heard on this machine.
  void aim_searches(asio::error_code& error) {
    namespace multicast = asio::ip::multicast;
    if (!config_.local.address().is_v4()) return;
    socket_.set_option(multicast::hops{1}, error);
    if (!error) socket_.set_option(multicast::enable_loopback{true}, error);
    if (error || config_.local.address().is_unspecified()) return;
    socket_.set_option(multicast::outbound_interface{config_.local.address().to_v4()}, error);
  }

  void wait_for_datagrams() {
    socket_.async_wait(Udp::socket::wait_read,
                       [this, life = life_, weak = user_](const asio::error_code& error) {
                         const auto user = weak.lock();  // or there is no this any more
                         if (!user || life != life_ || !socket_.is_open()) return;
                         if (error == asio::error::operation_aborted) return;
                         receive_all(*user);
                         user->all_received();
                         if (socket_.is_open()) wait_for_datagrams();
                       });
  }

  void receive_all(DeviceUser& user) {
    // Bounded, so that a flood leaves room for the timers and has other lines wait a moment only.
    constexpr int most_at_once = 64;
    for (int i = 0; i < most_at_once; ++i) {
      Udp::endpoint from;
      asio::error_code error;
      const std::size_t count = socket_.receive_from(asio::buffer(incoming_), from, 0, error);
      if (error == asio::error::would_block || error == asio::error::try_again) return;
      // Errors of an earlier sending are reported here too; the answer that is missing will tell.
      if (error) continue;
      user.received(protocol::ByteView{incoming_}.first(count), from_asio(from));
    }
  }

  UdpSocketConfig config_;
  Udp::socket socket_;
  std::weak_ptr<DeviceUser> user_;
  std::array<std::uint8_t, 2048> incoming_{};
  unsigned life_ = 0;  // handlers of an earlier opening are not for this one
};

struct UdpLine::Shell : LineShell<DatagramEngine, UdpSocket> {
  using LineShell::LineShell;
};

UdpLine::UdpLine(asio::io_context& io, const UdpLineConfig& config)
    : UdpLine{std::make_shared<Shell>(
          io, datagram_config(config),
          UdpSocketConfig{{address_from(config.bind_address), config.port},
                          config.bind_address,
                          config.search_port},
          OpenAgain{{config.first_pause, config.last_pause}, std::random_device{}()})} {}

UdpLine::UdpLine(std::shared_ptr<Shell> shell) : ShelledLine{shell}, shell_{std::move(shell)} {}

std::uint16_t UdpLine::local_port() const { return shell_->device.port(); }

}  // namespace catwalk::drivers
