// SPDX-License-Identifier: Apache-2.0
#pragma once
// A line in virtual time: the emulated nodes and the wires to them, which outlive the daemon, and
// the daemon's engine, which does not. What goes over the wires are the real bytes.

#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "daemon/base/pinned.hpp"
#include "drivers/line/faults.hpp"
#include "drivers/line/line.hpp"
#include "drivers/node/emulated_node.hpp"
#include "protocol/our_epochs.hpp"
#include "tests/simulation/show.hpp"
#include "tests/simulation/virtual_clock.hpp"

namespace catwalk::simulation {

// What an emulated node of either kind is set to, in the rack's own units, and back.
plan::NodeSettings from_wire(const drivers::NodeSettings& settings);
drivers::NodeSettings wire_settings(const plan::NodeSettings& settings);

class VirtualLine : Pinned {
 public:
  explicit VirtualLine(LineSetup setup) : setup_{std::move(setup)} { set_faults({}, 0); }
  virtual ~VirtualLine() = default;

  const LineSetup& setup() const { return setup_; }

  // ---- the daemon ------------------------------------------------------------------------------

  // A daemon starts: a new engine, which knows nothing of the one before but what was spoken.
  void ask_first() { asks_first_ = true; }
  void open(protocol::Epoch epoch, const protocol::OurEpochs& spoken, Moment now);
  // The daemon is gone. What is on the wires arrives all the same.
  void abandon();
  bool is_open() const { return open_; }
  virtual void submit(drivers::Command command, Moment now) = 0;
  virtual void discover(Moment now) = 0;
  virtual void speak_as(protocol::Epoch epoch, bool takes_over, Moment now) = 0;
  virtual void fall_quiet(Moment now) = 0;
  std::vector<drivers::Notice> take_notices() { return std::exchange(notices_, {}); }
  virtual drivers::LineCounters counters() const = 0;

  // ---- the field -------------------------------------------------------------------------------

  virtual std::optional<Moment> next_event() const = 0;
  // Everything that is due at this moment. Precondition: nothing was due before it.
  virtual void step(Moment now) = 0;
  // Of both directions, from now on, with luck of their own.
  void set_faults(const drivers::FaultRates& rates, std::uint64_t luck);
  const drivers::FaultRates& faults() const { return to_nodes_.rates(); }
  void plug(bool in, Moment now);
  bool is_plugged() const { return plugged_; }

  struct NodeHere {
    plan::NodeName name;
    std::unique_ptr<drivers::EmulatedNode> node;
  };
  const std::vector<NodeHere>& nodes() const { return nodes_; }
  // Null: not on this line.
  drivers::EmulatedNode* find(const plan::NodeName& name) const;
  // Another controller, of this epoch, speaks to the node.
  virtual void hear_rival(const plan::NodeName& name, protocol::Epoch epoch, Moment now) = 0;
  // The node answers from somewhere else, or not where it should.
  virtual void move(const plan::NodeName& name, unsigned place, Moment now) = 0;
  // The controller can know where it is: it is where the rack file says, or tells where it is.
  virtual bool can_be_found(const plan::NodeName&) const { return true; }

 protected:
  virtual void make_engine(protocol::Epoch epoch, const protocol::OurEpochs& spoken) = 0;
  virtual void drop_engine() = 0;
  virtual void engine_up(Moment now) = 0;
  virtual void engine_down(Moment now, const std::string& reason) = 0;

  void take_notices(std::vector<drivers::Notice> notices) {
    for (auto& notice : notices) notices_.push_back(std::move(notice));
  }

  LineSetup setup_;
  std::vector<NodeHere> nodes_;
  drivers::FaultyWire to_nodes_{{}, 0};
  drivers::FaultyWire from_nodes_{{}, 0};
  bool asks_first_ = false;
  bool open_ = false;
  bool plugged_ = true;

 private:
  std::vector<drivers::Notice> notices_;
};

// With the nodes of the show that are on it. They begin with what the first segment has for them,
// or as they come from the factory.
std::unique_ptr<VirtualLine> make_line(const Show& show, const LineSetup& setup, Moment now);

}  // namespace catwalk::simulation
