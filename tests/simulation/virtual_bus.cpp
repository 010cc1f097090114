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
    : VirtualLine{std::move(setup)} {
  nodes_ = std::move(nodes);
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

void VirtualBus::engine_up(Moment now) {
  engine_->up(now);
  pass_on(now);
}

void VirtualBus::engine_down(Moment now, const std::string& reason) {
  engine_->down(now, reason);
  pass_on(now);
}

void VirtualBus::submit(drivers::Command command, Moment now) {
  engine_->submit(std::move(command), now);
  pass_on(now);
}

void VirtualBus::discover(Moment now) {
  engine_->discover(now);
  pass_on(now);
}

drivers::LineCounters VirtualBus::counters() const {
  return engine_ ? engine_->counters() : drivers::LineCounters{};
}

std::optional<Moment> VirtualBus::next_event() const {
  std::optional<Moment> first;
  const auto consider = [&first](std::optional<Moment> at) {
    if (at && (!first || *at < *first)) first = at;
  };
  if (engine_) consider(engine_->deadline());
  consider(to_nodes_.next_arrival());
  consider(from_nodes_.next_arrival());
  return first;
}

void VirtualBus::step(Moment now) {
  for (const auto& parcel : to_nodes_.arrived(now))
    for (auto& answer : wires_.feed(parcel.bytes, now)) {
      const auto takes = thinking_time + on_wire(answer.size());
      from_nodes_.send(std::move(answer), now, takes);
    }
  for (const auto& parcel : from_nodes_.arrived(now))
    if (engine_) engine_->received(parcel.bytes, now);
  if (!engine_) return;
  engine_->tick(now);
  pass_on(now);
}

void VirtualBus::pass_on(Moment now) {
  auto out = engine_->take();
  for (auto& transmission : out.send) {
    const auto takes = on_wire(transmission.bytes.size());
    if (plugged_) to_nodes_.send(std::move(transmission.bytes), now, takes);
  }
  take_notices(std::move(out.notices));
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
