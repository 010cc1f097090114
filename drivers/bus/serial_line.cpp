// SPDX-License-Identifier: Apache-2.0
#include "drivers/bus/serial_line.hpp"

#include <algorithm>
#include <array>
#include <asio/buffer.hpp>
#include <asio/serial_port.hpp>
#include <asio/write.hpp>
#include <stdexcept>

#include "drivers/line/line_shell.hpp"
#include "drivers/line/serial_port.hpp"

namespace catwalk::drivers {
namespace {

BusConfig bus_config(const SerialLineConfig& config) {
  if (config.baud == 0) throw std::invalid_argument{"baud 0: allowed is 1 or more"};
  BusConfig bus;
  bus.nodes = config.nodes;
  bus.baud = config.baud;
  bus.reading_age = config.reading_age;
  bus.tries = config.tries;
  bus.most_commands = config.most_commands;
  bus.longest_slack = config.longest_slack;
  bus.asks_first = config.asks_first;
  bus.speaks = config.speaks;
  bus.epoch = config.epoch;
  bus.listen = std::max(bus.listen, config.reading_age);  // as another would read the same rack
  bus.first_sequence = static_cast<std::uint8_t>(config.seed);
  return bus;
}

struct PortConfig {
  std::string device;
  std::uint32_t baud = 0;
};

class Port {
 public:
  Port(asio::io_context& io, PortConfig config) : config_{std::move(config)}, port_{io} {}

  std::optional<std::string> open(std::weak_ptr<DeviceUser> user) {
    const auto fd = open_serial_port(config_.device, config_.baud);
    if (!fd) return fd.error();
    asio::error_code error;
    port_.assign(*fd, error);
    if (error) return error.message();
    user_ = std::move(user);
    ++life_;
    outgoing_.clear();
    writing_.clear();
    read();
    return std::nullopt;
  }
  void close() {
    asio::error_code ignored;
    port_.close(ignored);
  }
  bool is_open() const { return port_.is_open(); }

  void send(std::vector<Transmission> transmissions) {
    for (const auto& transmission : transmissions)
      outgoing_.insert(outgoing_.end(), transmission.bytes.begin(), transmission.bytes.end());
    write();
  }

 private:
  // Whom a handler tells; null: the line is gone, or the device was closed since.
  std::shared_ptr<DeviceUser> user_of(unsigned life) const {
    return life == life_ && port_.is_open() ? user_.lock() : nullptr;
  }
  // The rest of a handler is not for a device that was lost.
  bool is_lost(const asio::error_code& error, DeviceUser& user) {
    if (error && error != asio::error::operation_aborted)
      user.lost("lost " + config_.device + ": " + error.message());
    return static_cast<bool>(error);
  }

  void read() {
    port_.async_read_some(
        asio::buffer(incoming_),
        [this, life = life_, weak = user_](const asio::error_code& error, std::size_t count) {
          const auto alive = weak.lock();  // or there is no this any more
          const auto user = alive ? user_of(life) : nullptr;
          if (!user || is_lost(error, *user)) return;
          user->received(protocol::ByteView{incoming_}.first(count), {});
          read();
          user->all_received();
        });
  }

  void write() {
    if (!writing_.empty() || outgoing_.empty()) return;
    writing_.swap(outgoing_);
    asio::async_write(
        port_, asio::buffer(writing_),
        [this, life = life_, weak = user_](const asio::error_code& error, std::size_t) {
          const auto alive = weak.lock();
          const auto user = alive ? user_of(life) : nullptr;
          if (!user) return;
          writing_.clear();
          if (!is_lost(error, *user)) write();
        });
  }

  PortConfig config_;
  asio::serial_port port_;
  std::weak_ptr<DeviceUser> user_;
  std::array<std::uint8_t, 512> incoming_{};
  protocol::Bytes outgoing_;
  protocol::Bytes writing_;
  unsigned life_ = 0;  // handlers of an earlier opening are not for this one
};

}  // namespace

SerialLine::SerialLine(asio::io_context& io, const SerialLineConfig& config)
    : ShelledLine{std::make_shared<LineShell<BusEngine, Port>>(
          io, bus_config(config), PortConfig{config.device, config.baud},
          OpenAgain{{config.first_pause, config.last_pause}, config.seed})} {}

}  // namespace catwalk::drivers
