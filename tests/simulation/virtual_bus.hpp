// SPDX-License-Identifier: Apache-2.0
#pragma once
// An RS-485 line: one engine, several nodes on the same pair of wires.

#include "drivers/bus/bus_engine.hpp"
#include "drivers/node/node_on_bus.hpp"
#include "tests/simulation/virtual_wire.hpp"

namespace catwalk::simulation {

class VirtualBus final : public VirtualWire<drivers::BusEngine> {
 public:
  VirtualBus(LineSetup setup, std::vector<NodeHere> nodes);

  void hear_rival(const plan::NodeName& name, protocol::Epoch epoch, Moment now) override;
  void move(const plan::NodeName& name, unsigned place, Moment now) override;

 private:
  void make_engine(protocol::Epoch epoch, const protocol::OurEpochs& spoken) override;
  void step_nodes(Moment now) override;
  void hear(const drivers::FaultyWire::Parcel& parcel, Moment now) override;
  void send(drivers::Transmission transmission, Moment now) override;

  std::vector<protocol::Address> addresses_;  // as the rack file has them
  drivers::EmulatedBus wires_;
};

}  // namespace catwalk::simulation
