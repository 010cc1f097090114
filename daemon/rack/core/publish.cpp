// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/publish.hpp"

#include <algorithm>
#include <utility>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/order_view.hpp"
#include "daemon/rack/core/switch_advice.hpp"
#include "daemon/rack/core/switch_end.hpp"

namespace catwalk::rack {
namespace {

template <class T>
void share(std::shared_ptr<const std::vector<T>>& part, Rows<T>& rows) {
  if (!rows.changed()) return;
  part = std::make_shared<const std::vector<T>>(rows.begin(), rows.end());
  rows.were_shown();
}

// Where a node of it is, and so what is shown of the switch, follows from what the node shows.
bool switch_changed(const State& state) {
  if (!state.switching) return false;
  return state.switching.changed() || state.switching->nodes.changed() ||
         std::ranges::any_of(state.switching->nodes, [&](const SwitchNode& member) {
           return state.nodes.changed(state.by_uid.at(member.uid));
         });
}

// The views of all nodes, renewed where a node is not as it was shown. Nothing: all are.
std::optional<std::vector<NodeViewPtr>> show_nodes(State& state) {
  if (!state.nodes.changed()) return std::nullopt;
  std::vector<NodeViewPtr> shown;
  for (std::size_t place = 0; place < state.nodes.size(); ++place) {
    const auto& node = state.nodes[place];
    if (state.nodes.changed(place)) {
      auto view = view_of(state, node);
      if (node.view) view->revision = node.view->revision;
      if (!node.view || *view != *node.view) {
        view->revision = state.revision + 1;
        state.nodes.write_at(place).view = std::move(view);
      }
    }
    shown.push_back(node.view);
  }
  state.nodes.were_shown();
  return shown;
}

std::vector<NodeViewPtr> all_nodes(const Snapshot& snapshot) {
  auto all = snapshot.nodes;
  all.insert(all.end(), snapshot.matrices.begin(), snapshot.matrices.end());
  return all;
}

// What nodes wait for goes first; the snapshot goes before the answers, so that whoever is answered
// finds in it what they were told; records are last, since no answer waits for them.
void put_in_order(Turn& turn, std::optional<Publish> shown) {
  auto& effects = turn.effects;
  const auto rest = std::stable_partition(effects.begin(), effects.end(), [](const Effect& effect) {
    return std::holds_alternative<Send>(effect);
  });
  std::stable_partition(rest, effects.end(), [](const Effect& effect) {
    return std::holds_alternative<Respond>(effect);
  });
  if (shown) effects.insert(rest, std::move(*shown));
}

// Nothing: it would be the same as the last one.
std::optional<Publish> next_snapshot(Turn& turn) {
  auto& state = turn.state;
  if (switch_changed(state)) {
    state.switch_view = view_of_switch(state);
    state.switching.write().nodes.were_shown();
  }
  state.switching.was_shown();
  state.order = order_of(state);
  renew_advice(state);
  if (state.alarms.changed()) find_causes(state);
  const RackFacts& facts = state;
  const bool rows = state.lines.changed() || state.alarms.changed() || state.ticks.changed() ||
                    state.changes.changed();
  auto nodes = show_nodes(state);
  if (nodes && state.snapshot && *nodes == all_nodes(*state.snapshot)) nodes.reset();
  const bool same = state.snapshot && !nodes && !rows && facts == *state.snapshot &&
                    state.switch_view == state.snapshot->switching;
  if (same) return std::nullopt;
  auto next =
      state.snapshot ? std::make_shared<Snapshot>(*state.snapshot) : std::make_shared<Snapshot>();
  if (nodes) {
    const auto amplifiers = static_cast<std::ptrdiff_t>(state.plan->nodes.size());
    next->nodes.assign(nodes->begin(), nodes->begin() + amplifiers);
    next->matrices.assign(nodes->begin() + amplifiers, nodes->end());
  }
  share(next->lines, state.lines);
  share(next->alarms, state.alarms);
  share(next->ticks, state.ticks);
  share(next->changes, state.changes);
  static_cast<RackFacts&>(*next) = facts;
  next->switching = state.switch_view;
  next->revision = ++state.revision;
  next->at = turn.now;
  state.snapshot = next;
  return Publish{std::move(next)};
}

}  // namespace

void publish(Turn& turn) {
  refresh_standing(turn);
  auto shown = next_snapshot(turn);
  // Whoever is answered is shown the node as it stands at the end of the turn.
  for (auto& effect : turn.effects)
    if (auto* respond = std::get_if<Respond>(&effect); respond != nullptr && respond->answer.node)
      if (const auto* node = turn.state.find(respond->answer.node->name))
        respond->answer.node = node->view;
  put_in_order(turn, std::move(shown));
}

}  // namespace catwalk::rack
