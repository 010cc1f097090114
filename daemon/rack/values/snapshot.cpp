// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::rack {

std::string_view name_of(Link link) {
  switch (link) {
    case Link::unknown:
      return "unknown";
    case Link::answering:
      return "answering";
    case Link::silent:
      return "silent";
    case Link::line_down:
      return "line-down";
  }
  return "?";
}

std::string_view name_of(Agreement agreement) {
  switch (agreement) {
    case Agreement::unknown:
      return "unknown";
    case Agreement::agreed:
      return "agreed";
    case Agreement::changing:
      return "changing";
    case Agreement::drifted:
      return "drifted";
    case Agreement::not_ours:
      return "not-ours";
  }
  return "?";
}

std::string_view name_of(ChangeStage stage) {
  switch (stage) {
    case ChangeStage::recording:
      return "recording";
    case ChangeStage::staging:
      return "staging";
    case ChangeStage::applying:
      return "applying";
    case ChangeStage::reading_back:
      return "reading-back";
    case ChangeStage::settled:
      return "settled";
    case ChangeStage::failed:
      return "failed";
    case ChangeStage::unreachable:
      return "unreachable";
    case ChangeStage::interrupted:
      return "interrupted";
  }
  return "?";
}

std::string_view name_of(Control control) {
  switch (control) {
    case Control::ours:
      return "ours";
    case Control::asking:
      return "asking";
    case Control::watching:
      return "watching";
  }
  return "?";
}

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

const plan::Segment& Snapshot::active() const { return *plan->find(segment); }

std::optional<plan::CueName> Snapshot::cue_to(const plan::SegmentName& entered) const {
  return plan->running_order.leads_to(entered, order.armed ? &order.armed->cue : nullptr,
                                      order.at ? &*order.at : nullptr);
}

bool Snapshot::is_held_by_lock(const std::optional<plan::CueName>& cue) const {
  return lock && !(cue && order.armed && order.armed->cue == *cue);
}

NodeViewPtr Snapshot::find(const plan::NodeName& name) const {
  const auto found =
      std::ranges::find_if(nodes, [&](const NodeViewPtr& node) { return node->name == name; });
  return found == nodes.end() ? nullptr : *found;
}

}  // namespace catwalk::rack
