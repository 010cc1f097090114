// SPDX-License-Identifier: Apache-2.0
#include "drivers/serial_line.hpp"

#include <algorithm>
#include <array>
#include <asio/buffer.hpp>
#include <asio/serial_port.hpp>
#include <asio/steady_timer.hpp>
#include <asio/write.hpp>
#include <stdexcept>

#include "drivers/faults.hpp"
#include "drivers/notice_post.hpp"
#include "drivers/serial_port.hpp"

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

}  // namespace

// Handlers hold a weak pointer to this, so that none runs after the line is gone.
struct SerialLine::Impl : std::enable_shared_from_this<Impl> {
  Impl(asio::io_context& io, SerialLineConfig the_config)
      : config{std::move(the_config)},
        engine{bus_config(config)},
        port{io},
        wake{io},
        reopen{io},
        post{io},
        pauses{config.first_pause, config.last_pause},
        dice{config.seed} {}

  void open() {
    const auto fd = open_serial_port(config.device, config.baud);
    asio::error_code error;
    if (fd) port.assign(*fd, error);
    if (!fd || error) {
      engine.down(Clock::now(), fd ? error.message() : fd.error());
      try_again();
      flush();
      return;
    }
    outgoing.clear();
    writing.clear();
    engine.up(Clock::now());
    read();
    flush();
  }

  void try_again() {
    // A tenth more or less, so that several lines do not knock all at once.
    const auto pause = pauses.next();
    const auto jitter = (dice.unit() - 0.5) * 0.2 * static_cast<double>(pause.count());
    reopen.expires_after(pause + Micros{static_cast<std::int64_t>(jitter)});
    reopen.async_wait([weak = weak_from_this()](const asio::error_code& error) {
      const auto self = weak.lock();
      if (!error && self && self->running) self->open();
    });
  }

  void lost(const std::string& reason) {
    if (!port.is_open()) return;
    asio::error_code ignored;
    port.close(ignored);
    engine.down(Clock::now(), "lost " + config.device + ": " + reason);
    try_again();
    flush();
  }

  void read() {
    port.async_read_some(
        asio::buffer(incoming),
        [weak = weak_from_this(), life = life](const asio::error_code& error, std::size_t count) {
          const auto self = weak.lock();
          if (!self || !self->running || life != self->life) return;
          if (error) {
            if (error != asio::error::operation_aborted) self->lost(error.message());
            return;
          }
          // A port that opens but breaks at once would otherwise be opened twice a second.
          self->pauses.succeeded();
          self->engine.received(protocol::ByteView{self->incoming}.first(count), Clock::now());
          self->read();
          self->flush();
        });
  }

  void write() {
    if (!writing.empty() || outgoing.empty()) return;
    writing.swap(outgoing);
    asio::async_write(
        port, asio::buffer(writing),
        [weak = weak_from_this(), life = life](const asio::error_code& error, std::size_t) {
          const auto self = weak.lock();
          if (!self || !self->running || life != self->life) return;
          self->writing.clear();
          if (error) {
            if (error != asio::error::operation_aborted) {
              self->lost(error.message());
            }
            return;
          }
          self->write();
        });
  }

  // Everything the engine wants, after anything was told to it.
  void flush() {
    Output out = engine.take();
    if (port.is_open()) {
      for (const Transmission& transmission : out.send) {
        outgoing.insert(outgoing.end(), transmission.bytes.begin(), transmission.bytes.end());
      }
      write();
    }
    post.send(std::move(out.notices));
    const auto at = engine.deadline();
    if (!at) {
      wake.cancel();
      return;
    }
    wake.expires_at(*at);
    wake.async_wait([weak = weak_from_this()](const asio::error_code& error) {
      const auto self = weak.lock();
      if (error || !self || !self->running) return;
      self->engine.tick(Clock::now());
      self->flush();
    });
  }

  SerialLineConfig config;
  BusEngine engine;
  asio::serial_port port;
  asio::steady_timer wake;
  asio::steady_timer reopen;
  NoticePost post;
  Backoff pauses;
  Dice dice;
  std::array<std::uint8_t, 512> incoming{};
  protocol::Bytes outgoing;
  protocol::Bytes writing;
  unsigned life = 0;  // handlers of an earlier start are not for this one
  bool running = false;
};

SerialLine::SerialLine(asio::io_context& io, SerialLineConfig config)
    : impl_{std::make_shared<Impl>(io, std::move(config))} {}

SerialLine::~SerialLine() { impl_->running = false; }

void SerialLine::start(NoticeHandler handler) {
  if (impl_->running) return;
  impl_->running = true;
  ++impl_->life;
  impl_->post.open(std::move(handler));
  impl_->open();
}

void SerialLine::stop() {
  if (!impl_->running) return;
  impl_->running = false;
  asio::error_code ignored;
  impl_->port.close(ignored);
  impl_->wake.cancel();
  impl_->reopen.cancel();
  impl_->engine.down(Clock::now(), "stopped");
  impl_->post.close(impl_->engine.take().notices);
}

void SerialLine::submit(Command command) {
  impl_->engine.submit(std::move(command), Clock::now());
  impl_->flush();
}

void SerialLine::discover() {
  impl_->engine.discover(Clock::now());
  impl_->flush();
}

void SerialLine::speak_as(protocol::Epoch epoch, bool takes_over) {
  impl_->engine.speak_as(epoch, takes_over, Clock::now());
  impl_->flush();
}

void SerialLine::fall_quiet() {
  impl_->engine.fall_quiet(Clock::now());
  impl_->flush();
}

LineCounters SerialLine::counters() const { return impl_->engine.counters(); }

}  // namespace catwalk::drivers
