// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/node_metrics.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <string>

namespace catwalk::web {
namespace {

using Figure = std::optional<double>;

struct Family {
  const char* name;  // after "catwalk_node_"
  const char* help;
  Figure (*of)(const rack::NodeView& node, const rack::Snapshot& snapshot);
};

template <class Take>
Figure of_reading(const rack::NodeView& node, Take take) {
  // What it said last is not how it is: a graph has a gap there, not a line that goes on.
  if (!node.seen || node.link != rack::Link::answering) return std::nullopt;
  return static_cast<double>(take(node.seen->reading.telemetry));
}

// Other alarms are a line's or a cue's, whose name may be a node's too.
bool is_of(const rack::Alarm& alarm, const rack::NodeView& node) {
  using enum rack::AlarmKind;
  if (alarm.subject != node.name.text) return false;
  if (alarm.kind == other_controller) return node.held;
  return alarm.kind != line_down && alarm.kind != trigger_held && alarm.kind != cue_blocked;
}

constexpr std::array families{
    Family{"answering", "1 while the node answers.",
           [](const rack::NodeView& node, const rack::Snapshot&) -> Figure {
             return node.link == rack::Link::answering ? 1 : 0;
           }},
    Family{"agreed",
           "1 while the node shows what is wanted of it; of one that answers, and is ours.",
           [](const rack::NodeView& node, const rack::Snapshot&) -> Figure {
             if (node.link != rack::Link::answering || node.agreement == rack::Agreement::not_ours)
               return std::nullopt;
             return node.agreement == rack::Agreement::agreed ? 1 : 0;
           }},
    Family{"alarms_active", "Alarms of the node whose condition holds now.",
           [](const rack::NodeView& node, const rack::Snapshot& snapshot) -> Figure {
             return static_cast<double>(std::ranges::count_if(
                 *snapshot.alarms,
                 [&](const rack::Alarm& alarm) { return alarm.active() && is_of(alarm, node); }));
           }},
    Family{"read_timestamp_seconds", "When the node was last read, Unix time.",
           [](const rack::NodeView& node, const rack::Snapshot&) -> Figure {
             if (!node.seen) return std::nullopt;
             return std::chrono::duration<double>(node.seen->at.time_since_epoch()).count();
           }},
    Family{"powered", "1 while the node has its supply; without it it is passive.",
           [](const rack::NodeView& node, const rack::Snapshot&) {
             return of_reading(node, [](const auto& said) { return said.powered ? 1 : 0; });
           }},
    Family{"supply_volts", "At the node's terminals.",
           [](const rack::NodeView& node, const rack::Snapshot&) {
             return of_reading(node, [](const auto& said) { return said.supply_mv / 1e3; });
           }},
    Family{"supply_amperes", "Drawn by the node.",
           [](const rack::NodeView& node, const rack::Snapshot&) {
             return of_reading(node, [](const auto& said) { return said.supply_ma / 1e3; });
           }},
    Family{"temperature_celsius", "Of the node.",
           [](const rack::NodeView& node, const rack::Snapshot&) {
             return of_reading(node,
                               [](const auto& said) { return said.temperature_ddegc / 10.0; });
           }},
    Family{"detector_dbm", "Total power at the amplifier's input.",
           [](const rack::NodeView& node, const rack::Snapshot&) {
             return of_reading(node, [](const auto& said) { return said.detector_cdbm / 100.0; });
           }},
};

}  // namespace

void node_metrics(MetricLines& lines, const rack::Snapshot& snapshot) {
  for (const auto& [name, help, of] : families) {
    const auto full = "catwalk_node_" + std::string{name};
    lines.family(full, MetricLines::Type::gauge, help);
    for (const auto& node : snapshot.nodes)
      if (const auto figure = of(*node, snapshot))
        lines.sample(full, label("node", node->name.text), *figure);
  }
}

}  // namespace catwalk::web
