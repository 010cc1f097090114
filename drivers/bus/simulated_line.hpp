// SPDX-License-Identifier: Apache-2.0
#pragma once
// The simulated bus (simulated_bus.hpp) in real time, as a line like the others.

#include <memory>
#include <optional>
#include <string>

#include "drivers/bus/simulated_bus.hpp"
#include "drivers/line/shelled_line.hpp"

namespace asio {
class io_context;
}

namespace catwalk::drivers {

class SimulatedLine : public ShelledLine {
 public:
  // Throws std::invalid_argument for what SimulatedBus refuses.
  SimulatedLine(asio::io_context& io, SimulatedLineConfig config);

  // A knob turned, a power cut, another rate of loss: now. The text says what is wrong with it.
  std::optional<std::string> perform(const NodeAction& action);
  // The same as words (node_actions.hpp): "knob 7a10-0000002f gain 6".
  std::optional<std::string> perform(std::string_view action);
  void unplug();
  void plug();
  // What a node really is at, without asking it over the wire. Nothing if there is no such node.
  const EmulatedNode* node(protocol::NodeUid uid) const;

 private:
  struct Shell;
  explicit SimulatedLine(std::shared_ptr<Shell> shell);
  std::shared_ptr<Shell> shell_;
};

}  // namespace catwalk::drivers
