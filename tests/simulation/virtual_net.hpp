// SPDX-License-Identifier: Apache-2.0
#pragma once
// Datagrams: one engine, and nodes that each have a port of their own.

#include "drivers/datagrams/datagram_engine.hpp"
#include "drivers/node/node_on_datagrams.hpp"
#include "tests/simulation/virtual_wire.hpp"

namespace catwalk::simulation {

class VirtualNet final : public VirtualWire<drivers::DatagramEngine> {
 public:
  VirtualNet(LineSetup setup, std::vector<NodeHere> nodes, Moment now);

  std::optional<Moment> next_event() const override;
  void hear_rival(const plan::NodeName& name, protocol::Epoch epoch, Moment now) override;
  void move(const plan::NodeName& name, unsigned place, Moment now) override;
  bool can_be_found(const plan::NodeName& name) const override;

 private:
  struct Side {
    drivers::NodeOnDatagrams node;
    std::uint16_t port = 0;
    bool reports_to_us = false;
  };
  void make_engine(protocol::Epoch epoch, const protocol::OurEpochs& spoken) override;
  void step_nodes(Moment now) override;
  void hear(const drivers::FaultyWire::Parcel& parcel, Moment now) override;
  void send(drivers::Transmission transmission, Moment now) override;
  void send_back(protocol::Bytes bytes, const Side& side, Moment now);

  std::vector<Side> sides_;
  std::uint32_t rival_counter_ = 0;
};

}  // namespace catwalk::simulation
