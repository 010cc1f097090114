// SPDX-License-Identifier: Apache-2.0
#pragma once
// The datagram engine and emulated nodes at the two ends of a faulty net, in virtual time.

#include <algorithm>
#include <map>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "drivers/datagrams/datagram_engine.hpp"
#include "drivers/line/faults.hpp"
#include "drivers/node/node_on_datagrams.hpp"
#include "tests/support/drivers.hpp"

namespace catwalk::test {

inline protocol::Key test_key() { return *protocol::Key::from_bytes(protocol::Bytes(32, 0x42)); }

class DatagramBench final : public VirtualBench {
 public:
  // Node i is at port 7000 + i.
  DatagramBench(std::size_t count, drivers::FaultRates rates = {}, std::uint64_t seed = 1,
                std::uint32_t epoch = 7)
      : DatagramBench{config_for(count, epoch), rates, seed} {}

  explicit DatagramBench(const drivers::DatagramConfig& config_of_engine,
                         drivers::FaultRates rates = {}, std::uint64_t seed = 1,
                         const std::vector<const char*>& types = {})
      : to_nodes{net(rates), seed}, to_controller{net(rates), seed + 1}, engine{config_of_engine} {
    for (std::size_t i = 0; i < config_of_engine.nodes.size(); ++i) {
      drivers::NodeConfig config;
      config.uid = uid_of(i);
      config.type = *drivers::built_in_type(i < types.size() ? types[i] : "tern-inline");
      config.key = test_key();
      nodes.push_back(std::make_unique<drivers::EmulatedNode>(
          config, drivers::factory_memory(config, protocol::Address::unassigned()), now_));
      sides.push_back(std::make_unique<drivers::NodeOnDatagrams>(*nodes.back(), test_key(), now_));
      ports.push_back(static_cast<std::uint16_t>(7000 + i));
      reports_here.push_back(false);
    }
    engine.up(now_);
    collect();
  }

  static drivers::DatagramConfig config_for(std::size_t count, std::uint32_t epoch) {
    drivers::DatagramConfig config{.nodes = {}, .key = test_key()};
    for (std::size_t i = 0; i < count; ++i) {
      config.nodes.push_back({uid_of(i), Endpoint{{}, static_cast<std::uint16_t>(7000 + i)}});
    }
    config.epoch = epoch;
    return config;
  }

  void submit(drivers::CommandId id, protocol::NodeUid node, protocol::Ask request) {
    engine.submit({id, node, std::move(request)}, now_);
    collect();
  }
  void discover() {
    engine.discover(now_);
    collect();
  }

  std::chrono::microseconds one_way{100};  // what a datagram travels
  drivers::FaultyWire to_nodes;
  drivers::FaultyWire to_controller;
  drivers::DatagramEngine engine;
  std::vector<std::unique_ptr<drivers::EmulatedNode>> nodes;
  std::vector<std::unique_ptr<drivers::NodeOnDatagrams>> sides;
  std::vector<std::uint16_t> ports;
  std::vector<bool> reports_here;
  std::vector<protocol::Bytes> recorded_to_nodes;
  std::vector<protocol::Bytes> recorded_to_controller;

 private:
  static drivers::FaultRates net(drivers::FaultRates rates) {
    rates.reorder = true;
    return rates;
  }

  std::optional<TimePoint> next_event() const override {
    std::optional<TimePoint> first = engine.deadline();
    const auto consider = [&](std::optional<TimePoint> at) {
      if (at && (!first || *at < *first)) first = at;
    };
    consider(to_nodes.next_arrival());
    consider(to_controller.next_arrival());
    for (const auto& side : sides) consider(side->next_report());
    return first;
  }

  void step() override {
    for (const auto& parcel : to_nodes.arrived(now_)) {
      for (std::size_t i = 0; i < sides.size(); ++i) {
        if (ports[i] != parcel.tag) continue;
        const auto heard = sides[i]->receive(parcel.bytes, now_);
        if (heard.report_here) reports_here[i] = true;
        if (heard.reply) send_back(*heard.reply, i);
      }
    }
    for (std::size_t i = 0; i < sides.size(); ++i) {
      if (sides[i]->next_report() > now_) continue;
      const auto report = sides[i]->report(now_);
      if (report && reports_here[i]) send_back(*report, i);
    }
    for (const auto& parcel : to_controller.arrived(now_)) {
      engine.received(parcel.bytes, Endpoint{{}, static_cast<std::uint16_t>(parcel.tag)}, now_);
    }
    engine.tick(now_);
    collect();
  }

  void send_back(const protocol::Bytes& bytes, std::size_t node) {
    recorded_to_controller.push_back(bytes);
    to_controller.send(bytes, now_, one_way, ports[node]);
  }

  void collect() override {
    auto out = engine.take();
    for (auto& transmission : out.send) {
      recorded_to_nodes.push_back(transmission.bytes);
      to_nodes.send(std::move(transmission.bytes), now_, one_way, transmission.to.port);
    }
    for (auto& notice : out.notices) log.emplace_back(now_, std::move(notice));
  }
};

}  // namespace catwalk::test
