// SPDX-License-Identifier: Apache-2.0
#include "drivers/simulated_line.hpp"

#include <asio/steady_timer.hpp>

#include "drivers/notice_post.hpp"

namespace catwalk::drivers {

struct SimulatedLine::Impl : std::enable_shared_from_this<Impl> {
  Impl(asio::io_context& io, SimulatedLineConfig config)
      : bus{std::move(config), Clock::now()}, wake{io}, post{io} {}

  // The bus catches up with the clock, is told something, and its wishes are met.
  template <class F>
  auto with_bus(F&& tell) {
    const TimePoint now = Clock::now();
    bus.advance(now);
    if constexpr (std::is_void_v<decltype(tell(now))>) {
      tell(now);
      flush();
    } else {
      auto result = tell(now);
      flush();
      return result;
    }
  }

  void flush() {
    post.send(bus.take().notices);
    const auto at = bus.deadline();
    if (!at) {
      wake.cancel();
      return;
    }
    wake.expires_at(*at);
    wake.async_wait([weak = weak_from_this()](const asio::error_code& error) {
      const auto self = weak.lock();
      if (error || !self || !self->running) return;
      self->with_bus([](TimePoint) {});
    });
  }

  SimulatedBus bus;
  asio::steady_timer wake;
  NoticePost post;
  bool running = false;
};

SimulatedLine::SimulatedLine(asio::io_context& io, SimulatedLineConfig config)
    : impl_{std::make_shared<Impl>(io, std::move(config))} {}

SimulatedLine::~SimulatedLine() { impl_->running = false; }

void SimulatedLine::start(NoticeHandler handler) {
  if (impl_->running) return;
  impl_->running = true;
  impl_->post.open(std::move(handler));
  impl_->with_bus([&](TimePoint now) { impl_->bus.start(now); });
}

void SimulatedLine::stop() {
  if (!impl_->running) return;
  impl_->running = false;
  impl_->wake.cancel();
  impl_->bus.stop(Clock::now());
  impl_->post.close(impl_->bus.take().notices);
}

void SimulatedLine::submit(Command command) {
  impl_->with_bus([&](TimePoint now) { impl_->bus.submit(std::move(command), now); });
}

void SimulatedLine::discover() {
  impl_->with_bus([&](TimePoint now) { impl_->bus.discover(now); });
}

// Nobody else can be there.
void SimulatedLine::speak_as(protocol::Epoch, bool) {}
void SimulatedLine::fall_quiet() {}

LineCounters SimulatedLine::counters() const { return impl_->bus.counters(); }

std::optional<std::string> SimulatedLine::perform(const NodeAction& action) {
  return impl_->with_bus([&](TimePoint now) { return impl_->bus.perform(action, now); });
}

std::optional<std::string> SimulatedLine::perform(std::string_view text) {
  const auto action = parse_action(text);
  if (!action) return action.error();
  return perform(*action);
}

void SimulatedLine::unplug() {
  impl_->with_bus([&](TimePoint now) { impl_->bus.unplug(now); });
}

void SimulatedLine::plug() {
  impl_->with_bus([&](TimePoint now) { impl_->bus.plug(now); });
}

const EmulatedNode* SimulatedLine::node(protocol::NodeUid uid) const {
  return impl_->bus.node(uid);
}

}  // namespace catwalk::drivers
