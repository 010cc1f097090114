// SPDX-License-Identifier: Apache-2.0
#include "drivers/bus/simulated_bus.hpp"

#include <algorithm>
#include <stdexcept>

namespace catwalk::drivers {
namespace {

// What an 8-bit node takes to read a request and turn its driver round.
constexpr Micros thinking_time{300};

BusConfig bus_config(const SimulatedLineConfig& config) {
  BusConfig bus;
  for (const SimulatedNode& node : config.nodes) {
    if (node.listed) bus.nodes.push_back(BusNode{node.uid, node.address});
  }
  bus.baud = config.baud;
  bus.reading_age = config.reading_age;
  bus.tries = config.tries;
  bus.most_commands = config.most_commands;
  // The engine knows what a real port would: the slowest that the wire may be, there and back.
  bus.longest_slack = std::max(bus.longest_slack, 2 * config.faults.delay_max + Micros{5'000});
  bus.shortest_slack = std::max(bus.shortest_slack, 2 * config.faults.delay_max + Micros{1'000});
  return bus;
}

FaultRates in_order(FaultRates rates) {
  rates.reorder = false;
  return rates;
}

}  // namespace

SimulatedBus::SimulatedBus(SimulatedLineConfig config, TimePoint now)
    : config_{std::move(config)},
      to_nodes_{in_order(config_.faults), config_.seed},
      from_nodes_{in_order(config_.faults), config_.seed ^ 0x5DEECE66D},
      engine_{bus_config(config_)},
      started_{now} {
  for (const SimulatedNode& node : config_.nodes) {
    const auto type = node.described ? node.described : built_in_type(node.type);
    if (!type) {
      throw std::invalid_argument{"node type \"" + node.type + "\": allowed is " +
                                  built_in_type_names()};
    }
    NodeConfig node_config;
    node_config.uid = node.uid;
    node_config.type = *type;
    auto memory = factory_memory(
        node_config, node.address.value_or(protocol::Address::unassigned()), node.label);
    nodes_.push_back(
        std::make_unique<EmulatedNode>(std::move(node_config), std::move(memory), now));
    all_.push_back(nodes_.back().get());
    has_matrix_ = has_matrix_ || nodes_.back()->is_matrix();
    bus_.add(*nodes_.back());
  }
  std::stable_sort(config_.script.begin(), config_.script.end(),
                   [](const ScriptStep& a, const ScriptStep& b) { return a.at < b.at; });
}

void SimulatedBus::start(TimePoint now) {
  started_ = now;
  running_ = true;
  engine_.up(now);
  put_on_wire(now);
}

void SimulatedBus::stop(TimePoint now) {
  running_ = false;
  engine_.down(now, "stopped");
  to_nodes_.clear();
  from_nodes_.clear();
}

void SimulatedBus::submit(Command command, TimePoint now) {
  engine_.submit(std::move(command), now);
  put_on_wire(now);
}

void SimulatedBus::discover(TimePoint now) {
  engine_.discover(now);
  put_on_wire(now);
}

void SimulatedBus::unplug(TimePoint now) {
  plugged_ = false;
  to_nodes_.clear();
  from_nodes_.clear();
  engine_.down(now, "the plug is out");
}

void SimulatedBus::plug(TimePoint now) {
  plugged_ = true;
  if (!running_) return;
  engine_.up(now);
  put_on_wire(now);
}

std::optional<std::string> SimulatedBus::perform(const NodeAction& action, TimePoint now) {
  if (const auto* faults = std::get_if<ChangeFaults>(&action)) {
    FaultRates rates = to_nodes_.rates();
    change(rates, *faults);
    to_nodes_.set_rates(rates);
    from_nodes_.set_rates(rates);
    return std::nullopt;
  }
  return drivers::perform(action, all_, now);
}

EmulatedNode* SimulatedBus::node(protocol::NodeUid uid) {
  for (const auto& node : nodes_) {
    if (node->uid() == uid) return node.get();
  }
  return nullptr;
}

std::optional<TimePoint> SimulatedBus::next_event() const {
  std::optional<TimePoint> first = engine_.deadline();
  const auto consider = [&](std::optional<TimePoint> at) {
    if (at && (!first || *at < *first)) first = at;
  };
  consider(to_nodes_.next_arrival());
  consider(from_nodes_.next_arrival());
  if (script_at_ < config_.script.size()) consider(started_ + config_.script[script_at_].at);
  return first;
}

std::optional<TimePoint> SimulatedBus::deadline() const {
  if (!running_) return std::nullopt;
  return next_event();
}

void SimulatedBus::advance(TimePoint now) {
  if (!running_) return;
  for (auto at = next_event(); at && *at <= now; at = next_event()) step(*at);
}

void SimulatedBus::step(TimePoint at) {
  while (script_at_ < config_.script.size() && started_ + config_.script[script_at_].at <= at) {
    // A step for a node that is not there was refused when the script was read, or does nothing.
    static_cast<void>(perform(config_.script[script_at_++].action, at));
  }
  for (const auto& parcel : to_nodes_.arrived(at)) {
    for (protocol::Bytes& answer : bus_.feed(parcel.bytes, at)) {
      const Micros takes = thinking_time + on_wire(answer.size());
      from_nodes_.send(std::move(answer), at, takes);
    }
  }
  if (has_matrix_) settle_supplies(all_, at);
  for (const auto& parcel : from_nodes_.arrived(at)) engine_.received(parcel.bytes, at);
  engine_.tick(at);
  put_on_wire(at);
}

void SimulatedBus::put_on_wire(TimePoint now) {
  Output out = engine_.take();
  for (Transmission& transmission : out.send) {
    const Micros takes = on_wire(transmission.bytes.size());
    if (plugged_) to_nodes_.send(std::move(transmission.bytes), now, takes);
  }
  std::move(out.notices.begin(), out.notices.end(), std::back_inserter(notices_));
}

Micros SimulatedBus::on_wire(std::size_t bytes) const {
  if (config_.baud == 0) return Micros{0};
  return Micros{static_cast<std::int64_t>(bytes * 10 * 1'000'000 / config_.baud)};
}

Output SimulatedBus::take() {
  Output out = engine_.take();
  out.send.clear();
  notices_.insert(notices_.end(), std::make_move_iterator(out.notices.begin()),
                  std::make_move_iterator(out.notices.end()));
  out.notices = std::exchange(notices_, {});
  return out;
}

}  // namespace catwalk::drivers
