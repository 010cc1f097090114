// SPDX-License-Identifier: Apache-2.0
#include "drivers/bus/simulated_line.hpp"

#include "drivers/line/line_shell.hpp"

namespace catwalk::drivers {

// The bus as an engine: it catches up with the clock before it is told something.
class SimulatedEngine {
 public:
  explicit SimulatedEngine(SimulatedLineConfig config) : bus_{std::move(config), Clock::now()} {}

  SimulatedBus& at(TimePoint now) {
    bus_.advance(now);
    return bus_;
  }
  const EmulatedNode* node(protocol::NodeUid uid) { return bus_.node(uid); }

  void up(TimePoint now) { at(now).start(now); }
  void down(TimePoint now, const std::string& /*reason*/) { bus_.stop(now); }
  void tick(TimePoint now) { at(now); }
  void submit(Command command, TimePoint now) { at(now).submit(std::move(command), now); }
  void discover(TimePoint now) { at(now).discover(now); }
  // Nobody else can be there.
  void speak_as(protocol::Epoch, bool, TimePoint) {}
  void fall_quiet(TimePoint) {}
  void received(protocol::ByteView, TimePoint) {}
  std::optional<TimePoint> deadline() const { return bus_.deadline(); }
  Output take() { return bus_.take(); }
  LineCounters counters() const { return bus_.counters(); }

 private:
  SimulatedBus bus_;
};

struct NoDevice {
  NoDevice(asio::io_context&, NoDevice*) {}
  std::optional<std::string> open(const std::weak_ptr<DeviceUser>&) { return std::nullopt; }
  void close() {}
  bool is_open() const { return true; }
  void send(const std::vector<Transmission>&) {}
};

struct SimulatedLine::Shell : LineShell<SimulatedEngine, NoDevice> {
  using LineShell::LineShell;
};

SimulatedLine::SimulatedLine(asio::io_context& io, SimulatedLineConfig config)
    : SimulatedLine{std::make_shared<Shell>(io, std::move(config), static_cast<NoDevice*>(nullptr),
                                            OpenAgain{{Micros{500'000}, Micros{8'000'000}}})} {}

SimulatedLine::SimulatedLine(std::shared_ptr<Shell> shell)
    : ShelledLine{shell}, shell_{std::move(shell)} {}

std::optional<std::string> SimulatedLine::perform(const NodeAction& action) {
  return shell_->with_engine(
      [&](TimePoint now) { return shell_->engine.at(now).perform(action, now); });
}

std::optional<std::string> SimulatedLine::perform(std::string_view text) {
  const auto action = parse_action(text);
  if (!action) return action.error();
  return perform(*action);
}

void SimulatedLine::unplug() {
  shell_->with_engine([&](TimePoint now) { shell_->engine.at(now).unplug(now); });
}

void SimulatedLine::plug() {
  shell_->with_engine([&](TimePoint now) { shell_->engine.at(now).plug(now); });
}

const EmulatedNode* SimulatedLine::node(protocol::NodeUid uid) const {
  return shell_->engine.node(uid);
}

}  // namespace catwalk::drivers
