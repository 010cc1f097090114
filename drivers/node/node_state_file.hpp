// SPDX-License-Identifier: Apache-2.0
#pragma once
// What emulated nodes remember across a loss of power, in a text file, one node a line:
//
//   catwalk-node state 1
//   7a10-0000002f boots=3 epoch=7 address=5 gain=600 filter=0 centre=566000000 power=1
//   label=71756179
//
// The label is in hexadecimal. Written whole to a second file, synced and renamed: never half.

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "daemon/base/result.hpp"
#include "drivers/node/emulated_node.hpp"

namespace catwalk::drivers {

using NodeMemories = std::map<protocol::NodeUid, NodeMemory>;

// A file that does not exist holds nothing. The error names the line.
Result<NodeMemories, std::string> load_memories(const std::string& path);
// Nothing on success.
std::optional<std::string> save_memories(const std::string& path, const NodeMemories& memories);

// Keeps a file up to date with nodes: written only if one of them remembers something else than
// what the file holds.
class StateKeeper {
 public:
  // None: nothing is kept.
  explicit StateKeeper(std::optional<std::string> path) : path_{std::move(path)} {}

  // Always with the same nodes. Nothing on success; what failed is tried again at the next call.
  std::optional<std::string> keep(const std::vector<EmulatedNode*>& nodes);

 private:
  std::optional<std::string> path_;
  std::vector<NodeMemory> written_;
};

}  // namespace catwalk::drivers
