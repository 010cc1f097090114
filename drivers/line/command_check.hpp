// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a line may be told to send, checked before it takes a place in the queue.

#include <optional>

#include "drivers/line/line.hpp"

namespace catwalk::drivers {

// How the node would refuse it; nothing if it may be sent. Lines carry Identify, Read, Stage,
// StageMatrix, Apply, Discard, Store, Locate and Reclaim for others, broadcast Apply only, and only
// what the codec can.
std::optional<protocol::Refusal> command_refusal(const Command& command);

// May it go to a node that is not the line's own, but was found by its last search? What changes
// nothing but a lamp may.
bool is_for_strangers(const protocol::Ask& request);

}  // namespace catwalk::drivers
