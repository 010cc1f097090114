// SPDX-License-Identifier: Apache-2.0
#pragma once
// A line in real time, over an engine that knows no clock and a device that knows no protocol.
// Includes Asio: for the sources of the lines only.
//
//   Engine   submit, discover, speak_as, fall_quiet, up, down, tick, received, take, deadline,
//            counters: as BusEngine and DatagramEngine have them
//   Device   open (the trouble, or none), close, is_open, send

#include <asio/io_context.hpp>
#include <asio/steady_timer.hpp>
#include <memory>
#include <optional>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

#include "drivers/line/engine.hpp"
#include "drivers/line/faults.hpp"
#include "drivers/line/notice_post.hpp"

namespace catwalk::drivers {

// Whom a device tells. It holds a weak pointer, so that no handler runs after the line is gone.
class DeviceUser {
 public:
  virtual void received(protocol::ByteView bytes, const Endpoint& from) = 0;
  // That was all for now.
  virtual void all_received() = 0;
  virtual void lost(const std::string& reason) = 0;

 protected:
  ~DeviceUser() = default;
};

// How a device that cannot be opened is tried again.
struct OpenAgain {
  Backoff pauses;
  std::uint64_t seed = 1;  // for a little more or less
};

template <class Engine, class Device>
class LineShell : public Line,
                  public DeviceUser,
                  public std::enable_shared_from_this<LineShell<Engine, Device>> {
 public:
  // Throws what the engine or the device throws of what they are made of.
  template <class EngineConfig, class DeviceConfig>
  LineShell(asio::io_context& io, EngineConfig engine_config, DeviceConfig device_config,
            OpenAgain again)
      : engine{std::move(engine_config)},
        device{io, std::move(device_config)},
        wake_{io},
        reopen_{io},
        post_{io},
        pauses_{again.pauses},
        dice_{again.seed} {}

  void start(NoticeHandler handler) override {
    if (running_) return;
    running_ = true;
    post_.open(std::move(handler));
    open();
  }
  void stop() override {
    if (!running_) return;
    running_ = false;
    device.close();
    wake_.cancel();
    waking_at_.reset();
    reopen_.cancel();
    engine.down(Clock::now(), "stopped");
    post_.close(engine.take().notices);
  }
  void submit(Command command) override {
    with_engine([&](TimePoint now) { engine.submit(std::move(command), now); });
  }
  void discover() override {
    with_engine([&](TimePoint now) {
      if constexpr (requires { engine.discover(now, device.search_points()); })
        engine.discover(now, device.search_points());
      else
        engine.discover(now);
    });
  }
  void speak_as(protocol::Epoch epoch, bool takes_over) override {
    with_engine([&](TimePoint now) { engine.speak_as(epoch, takes_over, now); });
  }
  void fall_quiet() override {
    with_engine([&](TimePoint now) { engine.fall_quiet(now); });
  }
  LineCounters counters() const override { return engine.counters(); }

  // Tells the engine something, and does what it wants done then.
  template <class Tell>
  auto with_engine(Tell&& tell) {
    const auto now = Clock::now();
    if constexpr (std::is_void_v<decltype(tell(now))>) {
      tell(now);
      flush();
    } else {
      auto result = tell(now);
      flush();
      return result;
    }
  }

  void received(protocol::ByteView bytes, const Endpoint& from) override {
    // A device that opens but breaks at once would otherwise be opened twice a second.
    pauses_.succeeded();
    if constexpr (requires { engine.received(bytes, from, Clock::now()); })
      engine.received(bytes, from, Clock::now());
    else
      engine.received(bytes, Clock::now());
  }
  void all_received() override { flush(); }
  void lost(const std::string& reason) override { down(reason); }

  Engine engine;
  Device device;

 private:
  void open() {
    const auto trouble = device.open(this->weak_from_this());
    if (trouble) return down(*trouble);
    engine.up(Clock::now());
    flush();
  }

  void down(const std::string& reason) {
    device.close();
    engine.down(Clock::now(), reason);
    // A tenth more or less, so that several lines do not knock all at once.
    const auto pause = pauses_.next();
    const auto jitter = (dice_.unit() - 0.5) * 0.2 * static_cast<double>(pause.count());
    reopen_.expires_after(pause + Micros{static_cast<std::int64_t>(jitter)});
    reopen_.async_wait([weak = this->weak_from_this()](const asio::error_code& error) {
      const auto self = weak.lock();
      if (!error && self && self->running_) self->open();
    });
    flush();
  }

  void flush() {
    Output out = engine.take();
    if (device.is_open()) device.send(std::move(out.send));
    post_.send(std::move(out.notices));
    // Deadlines mostly move away as answers come: the wait under way is kept, and looks again.
    const auto at = engine.deadline();
    if (!at || (waking_at_ && *waking_at_ <= *at)) return;
    waking_at_ = at;
    wake_.expires_at(*at);
    wake_.async_wait([weak = this->weak_from_this()](const asio::error_code& error) {
      const auto self = weak.lock();
      if (error || !self) return;
      self->waking_at_.reset();
      if (!self->running_) return;
      self->engine.tick(Clock::now());
      self->flush();
    });
  }

  asio::steady_timer wake_;
  std::optional<Clock::time_point> waking_at_;
  asio::steady_timer reopen_;
  NoticePost post_;
  Backoff pauses_;
  Dice dice_;
  bool running_ = false;
};

}  // namespace catwalk::drivers
