// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/asked.hpp"

#include "daemon/rack/core/watching.hpp"

namespace catwalk::rack {

Answer unknown_name(std::string_view what, const std::string& name) {
  return {Outcome::unknown_name,
          "There is no " + std::string{what} + " \"" + name + "\" in this rack."};
}

Answer not_recorded(const std::string& reason) {
  return {Outcome::not_recorded,
          "The journal could not be written: " + reason + ". Nothing was changed."};
}

Answer hangs_there_no_more() {
  return {Outcome::unknown_name,
          "Another device hangs there by a plan that was read since; nothing was sent."};
}

std::string switch_under_way(const State& state) {
  if (state.switching)
    return "The switch to " + state.switching->view.entered.text + " is under way.";
  if (!state.wishes.empty())
    return "A switch to " + state.wishes.front().segment.text + " is about to begin.";
  return {};
}

bool refuse_held(Turn& turn, RequestId request, const NodeState& node) {
  if (!node.is_held()) return false;
  turn.respond(request, {Outcome::refused, held_words(node), {}, 0, view_of(turn.state, node)});
  return true;
}

const NodeState* named_node(Turn& turn, RequestId request, const plan::NodeName& name) {
  const auto* node = turn.state.find(name);
  if (node == nullptr) turn.respond(request, unknown_name("node", name.text));
  return node;
}

const NodeState* node_of_ours(Turn& turn, RequestId request, const plan::NodeName& name) {
  const auto* node = named_node(turn, request, name);
  return node == nullptr || refuse_held(turn, request, *node) ? nullptr : node;
}

}  // namespace catwalk::rack
