// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/virtual_net.hpp"

#include "protocol/codec.hpp"

namespace catwalk::simulation {
namespace {

constexpr std::uint16_t first_port = 7'000;
constexpr Micros on_the_way{100};

const protocol::Key& key() {
  static const auto secret = *protocol::Key::from_bytes(protocol::Bytes(32, 0x42));
  return secret;
}

}  // namespace

VirtualNet::VirtualNet(LineSetup setup, std::vector<NodeHere> nodes, Moment now)
    : VirtualWire{std::move(setup), std::move(nodes)} {
  for (std::size_t i = 0; i < nodes_.size(); ++i)
    sides_.push_back({drivers::NodeOnDatagrams{*nodes_[i].node, key(), now},
                      static_cast<std::uint16_t>(first_port + i), false});
}

void VirtualNet::make_engine(protocol::Epoch epoch, const protocol::OurEpochs& spoken) {
  drivers::DatagramConfig config{.nodes = {}, .key = key()};
  config.epoch = epoch.value;
  config.asks_first = asks_first_;
  config.ours = spoken;
  config.visitor_seed = epoch.value;
  config.reading_age = setup_.reading_age;
  for (std::size_t i = 0; i < nodes_.size(); ++i)
    config.nodes.push_back(
        {nodes_[i].node->uid(), Endpoint{{}, static_cast<std::uint16_t>(first_port + i)}});
  engine_.emplace(std::move(config));
}

std::optional<Moment> VirtualNet::next_event() const {
  auto first = VirtualWire::next_event();
  for (const auto& side : sides_) first = first_of({first, side.node.next_report()});
  return first;
}

void VirtualNet::step_nodes(Moment now) {
  for (const auto& parcel : to_nodes_.arrived(now))
    for (auto& side : sides_) {
      if (side.port != parcel.tag) continue;
      auto heard = side.node.receive(parcel.bytes, now);
      side.reports_to_us = side.reports_to_us || heard.report_here;
      if (heard.reply) send_back(*std::move(heard.reply), side, now);
    }
  for (auto& side : sides_) {
    if (side.node.next_report() > now) continue;
    auto report = side.node.report(now);
    if (report && side.reports_to_us) send_back(*std::move(report), side, now);
  }
}

void VirtualNet::hear(const drivers::FaultyWire::Parcel& parcel, Moment now) {
  engine_->received(parcel.bytes, Endpoint{{}, static_cast<std::uint16_t>(parcel.tag)}, now);
}

void VirtualNet::send(drivers::Transmission transmission, Moment now) {
  to_nodes_.send(std::move(transmission.bytes), now, on_the_way, transmission.to.port);
}

void VirtualNet::send_back(protocol::Bytes bytes, const Side& side, Moment now) {
  if (plugged_) from_nodes_.send(std::move(bytes), now, on_the_way, side.port);
}

// With the node's session, as a controller that has spoken with it before.
void VirtualNet::hear_rival(const plan::NodeName& name, protocol::Epoch epoch, Moment now) {
  for (std::size_t i = 0; i < nodes_.size(); ++i) {
    if (nodes_[i].name != name) continue;
    const auto& node = *nodes_[i].node;
    const protocol::Packet packet{{}, protocol::Request{protocol::Discard{epoch, {1}}}};
    const protocol::Envelope envelope{protocol::Direction::to_node, node.uid(), epoch.value,
                                      node.boots(), ++rival_counter_};
    static_cast<void>(
        sides_[i].node.receive(protocol::seal(envelope, protocol::encode(packet), key()), now));
    // From now on it reports to the rival.
    sides_[i].reports_to_us = false;
  }
}

// The node has another port. Nobody tells the controller.
void VirtualNet::move(const plan::NodeName& name, unsigned place, Moment) {
  for (std::size_t i = 0; i < nodes_.size(); ++i)
    if (nodes_[i].name == name)
      sides_[i].port = static_cast<std::uint16_t>(first_port + 100 * (place % 8) + i);
}

bool VirtualNet::can_be_found(const plan::NodeName& name) const {
  for (std::size_t i = 0; i < nodes_.size(); ++i)
    if (nodes_[i].name == name)
      return sides_[i].reports_to_us ||
             sides_[i].port == static_cast<std::uint16_t>(first_port + i);
  return false;
}

}  // namespace catwalk::simulation
