// SPDX-License-Identifier: Apache-2.0
#pragma once
// Datagrams: one engine, and nodes that each have a port of their own.

#include "drivers/datagrams/datagram_engine.hpp"
#include "drivers/node/node_on_datagrams.hpp"
#include "tests/simulation/virtual_line.hpp"

namespace catwalk::simulation {

class VirtualNet final : public VirtualLine {
 public:
  VirtualNet(LineSetup setup, std::vector<NodeHere> nodes, Moment now);

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
  bool can_be_found(const plan::NodeName& name) const override;

 protected:
  void make_engine(protocol::Epoch epoch, const protocol::OurEpochs& spoken) override;
  void drop_engine() override { engine_.reset(); }
  void engine_up(Moment now) override;
  void engine_down(Moment now, const std::string& reason) override;

 private:
  struct Side {
    drivers::NodeOnDatagrams node;
    std::uint16_t port = 0;
    bool reports_to_us = false;
  };
  void pass_on(Moment now);
  void send_back(protocol::Bytes bytes, const Side& side, Moment now);

  std::vector<Side> sides_;
  std::optional<drivers::DatagramEngine> engine_;
  std::uint32_t rival_counter_ = 0;
};

}  // namespace catwalk::simulation
