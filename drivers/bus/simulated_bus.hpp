// SPDX-License-Identifier: Apache-2.0
#pragma once
// A serial line without a device: the same engine, the same frames, and emulated nodes at the other
// end of faulty wires. Without a clock: each event happens at its own moment, in order, however
// late advance() is called. The same seed and the same calls give the same run.

#include <memory>
#include <string>
#include <vector>

#include "drivers/bus/bus_engine.hpp"
#include "drivers/line/faults.hpp"
#include "drivers/node/node_actions.hpp"
#include "drivers/node/node_on_bus.hpp"

namespace catwalk::drivers {

struct SimulatedNode {
  protocol::NodeUid uid;
  std::optional<protocol::Address> address;  // none: it has none yet, and is given one
  std::string type;                          // one of built_in_types(), unless it is described
  std::string label;
  std::optional<NodeType> described = {};  // what it can do, instead of a built-in type
  bool listed = true;                      // false: on the wire, but the line is not told of it
};

struct SimulatedLineConfig {
  std::vector<SimulatedNode> nodes = {};
  std::uint32_t baud = 115'200;  // 0: bytes take no time
  Micros reading_age{1'000'000};
  int tries = 3;
  std::size_t most_commands = 1'024;
  FaultRates faults = {};               // of each direction; a serial line never reorders
  std::vector<ScriptStep> script = {};  // times from start()
  std::uint64_t seed = 1;
};

class SimulatedBus {
 public:
  // Throws std::invalid_argument for a node type that does not exist, or what BusEngine refuses.
  SimulatedBus(SimulatedLineConfig config, TimePoint now);

  void start(TimePoint now);
  // Everything up to this moment happens. Call before any of the following, with the same `now`.
  void advance(TimePoint now);

  void submit(Command command, TimePoint now);
  void discover(TimePoint now);
  void stop(TimePoint now);

  // What people and weather do; the text says what is wrong with it.
  std::optional<std::string> perform(const NodeAction& action, TimePoint now);
  // The plug is pulled out, or put in again.
  void unplug(TimePoint now);
  void plug(TimePoint now);
  bool is_plugged() const { return plugged_; }

  // Nothing if there is no such node.
  EmulatedNode* node(protocol::NodeUid uid);

  std::optional<TimePoint> deadline() const;
  Output take();
  const LineCounters& counters() const { return engine_.counters(); }

 private:
  std::optional<TimePoint> next_event() const;
  void step(TimePoint at);
  void put_on_wire(TimePoint now);
  Micros on_wire(std::size_t bytes) const;

  SimulatedLineConfig config_;
  std::vector<std::unique_ptr<EmulatedNode>> nodes_;
  std::vector<EmulatedNode*> all_;  // the same
  bool has_matrix_ = false;         // among them; else nobody lives on another's supply
  EmulatedBus bus_;
  FaultyWire to_nodes_;
  FaultyWire from_nodes_;
  BusEngine engine_;
  std::vector<Notice> notices_;
  TimePoint started_;
  std::size_t script_at_ = 0;
  bool running_ = false;
  bool plugged_ = true;
};

}  // namespace catwalk::drivers
