// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/lines.hpp"

#include <algorithm>
#include <stdexcept>

#include "daemon/shell/node_type_of.hpp"
#include "drivers/bus/serial_line.hpp"
#include "drivers/bus/simulated_line.hpp"
#include "drivers/datagrams/udp_line.hpp"

namespace catwalk::shell {
namespace {

std::vector<drivers::BusNode> bus_nodes(const std::vector<config::NodeOnLine>& nodes) {
  std::vector<drivers::BusNode> result;
  for (const auto& node : nodes)
    result.push_back(
        {node.uid, protocol::Address{node.address}, protocol::Key::from_bytes(node.key)});
  return result;
}

std::optional<plan::Device> device_of(const plan::RackPlan& plan, NodeUid uid) {
  for (std::size_t place = 0; place < plan::count_devices(plan); ++place)
    if (const auto device = plan::device_at(plan, place); device.uid() == uid) return device;
  return std::nullopt;
}

// Whose cable ends at a matrix of this line is plugged in there from the start.
void plug_in(const plan::RackPlan& plan, const plan::LineName& line,
             std::vector<drivers::ScriptStep>& script) {
  std::vector<drivers::ScriptStep> plugs;
  for (const auto& node : plan.nodes) {
    if (!node.ends_at) continue;
    const auto* matrix = plan.find_matrix(node.ends_at->matrix);
    if (matrix == nullptr || !matrix->on_line || matrix->on_line->line != line) continue;
    const auto input = static_cast<std::uint8_t>(node.ends_at->input);
    plugs.push_back({{}, drivers::Plug{matrix->on_line->uid, input, node.uid}});
  }
  script.insert(script.begin(), plugs.begin(), plugs.end());
}

struct Maker {
  asio::io_context& io;
  const config::RackFile& rack;
  Voice voice;

  NamedLine operator()(const config::SerialSetup& setup) const {
    drivers::SerialLineConfig line;
    line.device = setup.device.string();
    line.baud = setup.baud;
    line.nodes = bus_nodes(setup.nodes);
    line.reading_age = setup.reading_age;
    line.asks_first = true;
    line.speaks = voice.speaks;
    line.epoch = voice.epoch;
    return {setup.name, std::make_unique<drivers::SerialLine>(io, std::move(line))};
  }

  NamedLine operator()(const config::UdpSetup& setup) const {
    auto key = protocol::Key::from_bytes(setup.key);
    if (!key) throw std::invalid_argument{setup.name.text + ": the key's length is not allowed"};
    drivers::UdpLineConfig line{.bind_address = text_of(setup.bind.ip),
                                .port = setup.bind.port,
                                .key = std::move(*key),
                                .epoch = voice.epoch.value,
                                .asks_first = true,
                                .speaks = voice.speaks,
                                .ours = voice.before,
                                .reading_age = setup.reading_age};
    if (setup.search_port) line.search_port = *setup.search_port;
    for (const auto& node : setup.nodes)
      line.nodes.push_back({node.uid, node.endpoint, protocol::Key::from_bytes(node.key)});
    return {setup.name, std::make_unique<drivers::UdpLine>(io, std::move(line))};
  }

  NamedLine operator()(const config::SimulatedSetup& setup) const {
    drivers::SimulatedLineConfig line;
    line.reading_age = setup.reading_age;
    line.seed = setup.seed;
    line.faults.loss = setup.loss;
    line.faults.corrupt = setup.corrupt;
    line.faults.duplicate = setup.duplicate;
    line.faults.delay_min = setup.delay_least;
    line.faults.delay_max = setup.delay_most;
    for (const auto& words : setup.script) {
      auto step = drivers::parse_script_step(words);
      if (!step) throw std::invalid_argument{setup.name.text + ": script: " + step.error()};
      line.script.push_back(std::move(step).value());
    }
    for (const auto& node : setup.nodes) {
      const auto planned = device_of(rack.plan, node.uid);
      if (!planned) continue;
      drivers::SimulatedNode simulated;
      simulated.uid = node.uid;
      simulated.address = protocol::Address{node.address};
      simulated.described = node_type_of(*planned);
      line.nodes.push_back(std::move(simulated));
    }
    plug_in(rack.plan, setup.name, line.script);
    return {setup.name, std::make_unique<drivers::SimulatedLine>(io, std::move(line))};
  }
};

}  // namespace

rack::AskFirst lines_that_ask(const config::RackFile& rack) {
  rack::AskFirst ask;
  for (const auto& setup : rack.lines) {
    if (!config::kind_of(setup).is_open) continue;
    ask.lines.push_back(config::name_of(setup));
    // A serial line is listened to for as long as its readings may be old.
    if (const auto* serial = std::get_if<config::SerialSetup>(&setup))
      ask.longest = std::max(ask.longest, serial->reading_age + std::chrono::seconds{1});
  }
  return ask;
}

std::vector<NamedLine> make_lines(asio::io_context& io, const config::RackFile& rack, Voice voice) {
  std::vector<NamedLine> lines;
  for (const auto& setup : rack.lines) lines.push_back(std::visit(Maker{io, rack, voice}, setup));
  return lines;
}

NamedLine make_line(asio::io_context& io, const config::RackFile& rack, const plan::LineName& name,
                    Voice voice) {
  const auto setup = std::ranges::find(
      rack.lines, name, [](const config::LineSetup& line) { return config::name_of(line); });
  return std::visit(Maker{io, rack, voice}, *setup);
}

}  // namespace catwalk::shell
