// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/virtual_line.hpp"

#include "daemon/shell/node_type_of.hpp"

#include <algorithm>

#include "daemon/rack/values/wire.hpp"
#include "tests/simulation/random.hpp"
#include "tests/simulation/virtual_bus.hpp"
#include "tests/simulation/virtual_net.hpp"

namespace catwalk::simulation {

void VirtualLine::open(protocol::Epoch epoch, const protocol::OurEpochs& spoken, Moment now) {
  make_engine(epoch, spoken);
  open_ = true;
  if (plugged_)
    engine_up(now);
  else
    engine_down(now, "the plug is out");
}

void VirtualLine::abandon() {
  drop_engine();
  open_ = false;
  notices_.clear();
}

void VirtualLine::set_faults(const drivers::FaultRates& rates, std::uint64_t luck) {
  auto own = rates;
  own.reorder = setup_.kind == LineKind::datagrams;
  to_nodes_.set_rates(own);
  to_nodes_.set_luck(luck);
  from_nodes_.set_rates(own);
  from_nodes_.set_luck(luck + 1);
}

void VirtualLine::plug(bool in, Moment now) {
  if (in == plugged_) return;
  plugged_ = in;
  to_nodes_.clear();
  from_nodes_.clear();
  if (!open_) return;
  if (in)
    engine_up(now);
  else
    engine_down(now, "the plug is out");
}

drivers::EmulatedNode* VirtualLine::find(const plan::NodeName& name) const {
  const auto found = std::ranges::find(nodes_, name, &NodeHere::name);
  return found == nodes_.end() ? nullptr : found->node.get();
}

plan::NodeSettings from_wire(const drivers::NodeSettings& settings) {
  return std::visit([](const auto& own) { return plan::NodeSettings{rack::from_wire(own)}; },
                    settings);
}

drivers::NodeSettings wire_settings(const plan::NodeSettings& settings) {
  if (const auto* own = settings.amplifier()) return rack::to_wire(*own);
  return rack::to_wire(*settings.matrix());
}

namespace {

std::unique_ptr<drivers::EmulatedNode> make_node(const Show& show, std::size_t at, Moment now) {
  const auto device = plan::device_at(*show.plan, at);
  const auto& name = device.name().text;
  drivers::NodeConfig config;
  config.uid = device.uid();
  config.type = shell::node_type_of(device);
  const protocol::Address address{static_cast<std::uint8_t>(at + 1)};
  auto memory = drivers::factory_memory(config, address, name);
  if (!Random{show.seed, "start of " + name}.one_in(4))
    memory.stored =
        wire_settings(planned(device, show.plan->segments.front(), from_wire(memory.stored)));
  return std::make_unique<drivers::EmulatedNode>(std::move(config), std::move(memory), now);
}

}  // namespace

std::unique_ptr<VirtualLine> make_line(const Show& show, const LineSetup& setup, Moment now) {
  std::vector<VirtualLine::NodeHere> nodes;
  for (std::size_t i = 0; i < plan::count_devices(*show.plan); ++i) {
    const auto device = plan::device_at(*show.plan, i);
    if (device.line() != setup.name) continue;
    auto& here = nodes.emplace_back();
    here.name = device.name();
    here.node = make_node(show, i, now);
  }
  if (setup.kind == LineKind::serial) return std::make_unique<VirtualBus>(setup, std::move(nodes));
  return std::make_unique<VirtualNet>(setup, std::move(nodes), now);
}

}  // namespace catwalk::simulation
