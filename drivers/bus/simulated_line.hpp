// SPDX-License-Identifier: Apache-2.0
#pragma once
// The simulated bus (simulated_bus.hpp) in real time, as a line like the others.

#include <memory>
#include <optional>
#include <string>

#include "drivers/line.hpp"
#include "drivers/simulated_bus.hpp"

namespace asio {
class io_context;
}

namespace catwalk::drivers {

class SimulatedLine : public Line {
 public:
  // Throws std::invalid_argument for what SimulatedBus refuses.
  SimulatedLine(asio::io_context& io, SimulatedLineConfig config);
  ~SimulatedLine() override;

  void start(NoticeHandler handler) override;
  void stop() override;
  void submit(Command command) override;
  void discover() override;
  void speak_as(protocol::Epoch epoch, bool takes_over) override;
  void fall_quiet() override;
  LineCounters counters() const override;

  // A knob turned, a power cut, another rate of loss: now. The text says what is wrong with it.
  std::optional<std::string> perform(const NodeAction& action);
  // The same as words (node_actions.hpp): "knob 7a10-0000002f gain 6".
  std::optional<std::string> perform(std::string_view action);
  void unplug();
  void plug();
  // What a node really is at, without asking it over the wire. Nothing if there is no such node.
  const EmulatedNode* node(protocol::NodeUid uid) const;

 private:
  struct Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace catwalk::drivers
