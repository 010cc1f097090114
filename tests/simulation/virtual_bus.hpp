// SPDX-License-Identifier: Apache-2.0
#pragma once
// An RS-485 line: one engine, several nodes on the same pair of wires.

#include "drivers/bus/bus_engine.hpp"
#include "drivers/node/node_on_bus.hpp"
#include "tests/simulation/virtual_line.hpp"

namespace catwalk::simulation {

class VirtualBus final : public VirtualLine {
 public:
  VirtualBus(LineSetup setup, std::vector<NodeHere> nodes);

  void submit(drivers::Command command, Moment now) override;
  void discover(Moment now) override;
  void speak_as(protocol::Epoch epoch, bool takes_over, Moment now) override {
    engine_->speak_as(epoch, takes_over, now);
    pass_on(now);
  }
  void fall_quiet(Moment now) override {
    engine_->fall_quiet(now);
    pass_on(now);
  }
  drivers::LineCounters counters() const override;
  std::optional<Moment> next_event() const override;
  void step(Moment now) override;
  void hear_rival(const plan::NodeName& name, protocol::Epoch epoch, Moment now) override;
  void move(const plan::NodeName& name, unsigned place, Moment now) override;

 protected:
  void make_engine(protocol::Epoch epoch, const protocol::OurEpochs& spoken) override;
  void drop_engine() override { engine_.reset(); }
  void engine_up(Moment now) override;
  void engine_down(Moment now, const std::string& reason) override;

 private:
  void pass_on(Moment now);

  std::vector<protocol::Address> addresses_;  // as the rack file has them
  drivers::EmulatedBus wires_;
  std::optional<drivers::BusEngine> engine_;
};

}  // namespace catwalk::simulation
