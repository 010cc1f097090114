// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/publish.hpp"

#include <algorithm>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/order_view.hpp"
#include "daemon/rack/core/switch_end.hpp"

namespace catwalk::rack {
namespace {

template <class T, class Source>
void share(std::shared_ptr<const T>& part, bool& dirty, const Source& source) {
  if (!dirty) return;
  part = std::make_shared<const T>(source.begin(), source.end());
  dirty = false;
}

}  // namespace

void publish(Turn& turn) {
  auto& state = turn.state;
  state.standing_left = !refresh_standing(turn);
  if (state.switch_dirty && state.switching) state.switch_view = view_of_switch(state);
  const bool nodes_dirty = std::ranges::any_of(state.nodes, &NodeState::dirty);
  if (!nodes_dirty && !state.lines_dirty && !state.alarms_dirty && !state.ticks_dirty &&
      !state.changes_dirty && !state.rack_dirty && !state.switch_dirty)
    return;
  auto next =
      state.snapshot ? std::make_shared<Snapshot>(*state.snapshot) : std::make_shared<Snapshot>();
  if (nodes_dirty) {
    next->nodes.resize(state.nodes.size());
    for (std::size_t i = 0; i < state.nodes.size(); ++i) {
      auto& node = state.nodes[i];
      if (node.dirty) node.view = view_of(state, node);
      node.dirty = false;
      next->nodes[i] = node.view;
    }
  }
  share(next->lines, state.lines_dirty, state.lines);
  if (state.alarms_dirty) find_causes(state);
  share(next->alarms, state.alarms_dirty, state.alarms);
  share(next->ticks, state.ticks_dirty, state.ticks);
  share(next->changes, state.changes_dirty, state.changes);
  state.rack_dirty = state.switch_dirty = false;
  // Whoever is answered is shown the node as it stands at the end of the turn.
  for (auto& effect : turn.effects)
    if (auto* respond = std::get_if<Respond>(&effect); respond != nullptr && respond->answer.node)
      if (const auto* node = state.find(respond->answer.node->name))
        respond->answer.node = node->view;
  next->revision = ++state.revision;
  next->at = turn.now;
  next->plan = state.plan;
  next->segment = state.segment;
  next->epoch = state.epoch;
  next->spoken = state.spoken;
  next->control = state.control;
  next->watching_because = state.watching_because;
  next->other_heard = state.other_heard;
  next->lock = state.lock;
  next->switching = state.switch_view;
  next->order = order_of(state);
  state.snapshot = next;
  // What nodes wait for goes first; the snapshot goes before the answers, so that whoever is
  // answered finds in it what they were told; records are last, since no answer waits for them.
  const auto rest = std::stable_partition(
      turn.effects.begin(), turn.effects.end(),
      [](const Effect& effect) { return std::holds_alternative<Send>(effect); });
  std::stable_partition(rest, turn.effects.end(), [](const Effect& effect) {
    return std::holds_alternative<Respond>(effect);
  });
  turn.effects.insert(rest, Publish{std::move(next)});
}

}  // namespace catwalk::rack
