// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/virtual_bus.hpp"

#include "protocol/codec.hpp"
#include "protocol/frame.hpp"

namespace catwalk::simulation {
namespace {

constexpr std::uint32_t baud = 115'200;
constexpr Micros thinking_time{500};

Micros on_wire(std::size_t bytes) {
  return Micros{static_cast<std::int64_t>(bytes * 10 * 1'000'000 / baud)};
}

}  // namespace

VirtualBus::VirtualBus(LineSetup setup, std::vector<NodeHere> nodes)
    : VirtualWire{std::move(setup), std::move(nodes)} {
  for (const auto& here : nodes_) {
    addresses_.push_back(here.node->address());
    wires_.add(*here.node);
  }
}

void VirtualBus::make_engine(protocol::Epoch epoch, const protocol::OurEpochs&) {
  drivers::BusConfig config;
  config.baud = baud;
  config.reading_age = setup_.reading_age;
  config.asks_first = asks_first_;
  for (std::size_t i = 0; i < nodes_.size(); ++i)
    config.nodes.push_back({nodes_[i].node->uid(), addresses_[i]});
  config.first_sequence = static_cast<std::uint8_t>(epoch.value * 89);
  engine_.emplace(std::move(config));
}

void VirtualBus::step_nodes(Moment now) {
  for (const auto& parcel : to_nodes_.arrived(now))
    for (auto& answer : wires_.feed(parcel.bytes, now)) {
      const auto takes = thinking_time + on_wire(answer.size());
      from_nodes_.send(std::move(answer), now, takes);
    }
}

void VirtualBus::hear(const drivers::FaultyWire::Parcel& parcel, Moment now) {
  engine_->received(parcel.bytes, now);
}

void VirtualBus::send(drivers::Transmission transmission, Moment now) {
  const auto takes = on_wire(transmission.bytes.size());
  to_nodes_.send(std::move(transmission.bytes), now, takes);
}

void VirtualBus::hear_rival(const plan::NodeName& name, protocol::Epoch epoch, Moment now) {
  auto* node = find(name);
  const protocol::Packet packet{{node->address(), 0},
                                protocol::Request{protocol::Discard{epoch, {1}}}};
  static_cast<void>(node->answer(protocol::encode(packet),
                                 {drivers::Arrival::Way::addressed, epoch.value, true}, now));
}

// Another tool has given it another short address, one that is free: two nodes
// of one address would both obey what is said to either, and no controller
// could help it.
void VirtualBus::move(const plan::NodeName& name, unsigned place, Moment now) {
  auto* node = find(name);
  const auto own = static_cast<unsigned>(node->uid().bits() % 8);
  const protocol::Address to{static_cast<std::uint8_t>(20 + 8 * (place % 8) + own)};
  const protocol::Packet packet{{protocol::Address::broadcast(), 0},
                                protocol::Request{protocol::Assign{node->uid(), to}}};
  static_cast<void>(
      node->answer(protocol::encode(packet), {drivers::Arrival::Way::broadcast, 0, true}, now));
}

}  // namespace catwalk::simulation
