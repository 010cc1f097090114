// SPDX-License-Identifier: Apache-2.0
#pragma once
// What requests have to pass, and the answers that several of them give. Internal to the room.

#include <string>
#include <string_view>

#include "daemon/rack/core/state.hpp"

namespace catwalk::rack {

// `what`: "node", "line" …
Answer unknown_name(std::string_view what, const std::string& name);
// The journal could not be written, for this reason, and so nothing was done.
Answer not_recorded(const std::string& reason);
Answer hangs_there_no_more();
// Empty: there is none.
std::string switch_under_way(const State& state);
// True: another controller has it, and that was answered.
bool refuse_held(Turn& turn, RequestId request, const NodeState& node);
// The node that is asked about. Null: there is none, and that was answered.
const NodeState* named_node(Turn& turn, RequestId request, const plan::NodeName& name);
// The same, and no other controller has it.
const NodeState* node_of_ours(Turn& turn, RequestId request, const plan::NodeName& name);

}  // namespace catwalk::rack
