// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::rack {

std::optional<NoControl> no_control(Control control, const std::string& watching_because) {
  if (control == Control::asking)
    return NoControl{Outcome::busy,
                     "The daemon has just started, and still asks the nodes whether another "
                     "controller speaks to them; try again in a moment."};
  if (control == Control::watching)
    return NoControl{Outcome::refused,
                     watching_because + " This daemon only watches: take over first."};
  return std::nullopt;
}

std::string why_nothing_is_wanted(const Snapshot& snapshot, const NodeView& node) {
  if (auto none = no_control(snapshot.control, snapshot.watching_because)) return none->sentence;
  return node.held ? "another controller has it. Take over first." : "it has never been read.";
}

const plan::Segment& RackFacts::active() const { return *plan->find(segment); }

std::optional<plan::CueName> Snapshot::cue_to(const plan::SegmentName& entered) const {
  return plan->running_order.leads_to(entered, order.armed ? &order.armed->cue : nullptr,
                                      order.at ? &*order.at : nullptr);
}

bool Snapshot::is_held_by_lock(const std::optional<plan::CueName>& cue) const {
  return lock && !(cue && order.armed && order.armed->cue == *cue);
}

namespace {

NodeViewPtr find_in(const std::vector<NodeViewPtr>& nodes, const plan::NodeName& name) {
  const auto found =
      std::ranges::find_if(nodes, [&](const NodeViewPtr& node) { return node->name == name; });
  return found == nodes.end() ? nullptr : *found;
}

}  // namespace

NodeViewPtr Snapshot::find(const plan::NodeName& name) const { return find_in(nodes, name); }

NodeViewPtr Snapshot::find_matrix(const plan::NodeName& name) const {
  return find_in(matrices, name);
}

Told::Told(const protocol::AnyReading& reading)
    : epoch{protocol::epoch_of(reading)}, telemetry{protocol::telemetry_of(reading)} {
  if (const auto* matrix = std::get_if<protocol::MatrixState>(&reading)) inputs = matrix->inputs;
}

}  // namespace catwalk::rack
