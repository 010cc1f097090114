// SPDX-License-Identifier: Apache-2.0
#pragma once
// A node's serial side, and several such nodes on one pair of wires.

#include <memory>
#include <vector>

#include "drivers/node/emulated_node.hpp"
#include "protocol/frame.hpp"

namespace catwalk::drivers {

// Bytes as they come from the line; frames to put on it. Hears what is for its address, and
// broadcasts; everything else on the line, other nodes' answers included, passes it by.
class NodeOnBus {
 public:
  // The node must outlive this.
  explicit NodeOnBus(EmulatedNode& node) : node_{&node} {}

  std::vector<protocol::Bytes> feed(protocol::ByteView bytes, Moment now);

  const protocol::FrameFaults& faults() const { return reader_.faults(); }

 private:
  EmulatedNode* node_;
  protocol::FrameReader reader_;
};

// Nodes that share one half-duplex line. When more than one answers at once the wires carry a mix
// of both, as RS-485 drivers do that pull against each other.
class EmulatedBus {
 public:
  // The node must outlive this.
  void add(EmulatedNode& node) { nodes_.emplace_back(node); }

  // What the line carries in answer, one entry for each request that got any.
  std::vector<protocol::Bytes> feed(protocol::ByteView bytes, Moment now);

 private:
  std::vector<NodeOnBus> nodes_;
};

}  // namespace catwalk::drivers
