// SPDX-License-Identifier: Apache-2.0
#pragma once
// A node's datagram side: authenticity, freshness, sessions and reports. PROTOCOL.md, section 5.
//
// A node with a key of its own believes that of its line no further than a search: whoever has it
// may hear who is there, and moves nothing of what this node knows of its controller.
//
// A visitor, under session 0, may ask and changes nothing at all.

#include <cstdint>
#include <optional>

#include "drivers/node/emulated_node.hpp"
#include "protocol/datagram.hpp"

namespace catwalk::drivers {

struct DatagramFaults {
  std::uint64_t malformed = 0;
  std::uint64_t forged = 0;
  std::uint64_t replayed = 0;
  std::uint64_t stranger = 0;  // for another node
  friend bool operator==(const DatagramFaults&, const DatagramFaults&) = default;
};

class NodeOnDatagrams {
 public:
  // The node must outlive this. `own`: the node's; without one, that of the line stands for it.
  NodeOnDatagrams(EmulatedNode& node, protocol::Key line, Moment now,
                  std::optional<protocol::Key> own = {});

  struct Heard {
    std::optional<protocol::Bytes> reply;  // goes back to where the datagram came from
    // The sender knows this node's present session: reports go there from now on. Anything less
    // could be a recording, and would draw the reports to a stranger.
    bool report_here = false;
  };
  Heard receive(protocol::ByteView datagram, Moment now);

  // A report that is due now, if one is: at once after news, once more shortly after as the first
  // may be lost, and every heartbeat.
  std::optional<protocol::Bytes> report(Moment now);
  Moment next_report() const;

  const DatagramFaults& faults() const { return faults_; }

 private:
  void notice_restart();
  Heard receive_search(protocol::ByteView datagram, Moment now);
  Heard receive_visitor(const protocol::Datagram& datagram, const protocol::Key& key, Moment now);
  std::optional<Heard> receive_reclaim(const protocol::Datagram& datagram, Moment now);
  protocol::Bytes sealed(protocol::ByteView packet, std::uint32_t peer, const protocol::Key& key);

  EmulatedNode* node_;
  protocol::Key line_key_;
  bool has_own_key_ = false;
  protocol::Key key_;                     // its own, or that of the line
  protocol::ReplayWindow search_window_;  // of what is sealed with the line's key, beside its own
  protocol::ReplayWindow window_;
  std::uint32_t boots_ = 0;
  std::uint32_t counter_ = 0;
  std::uint32_t reports_to_ = 0;  // session of the controller
  std::optional<Moment> heard_;   // when the controller of the highest session was, in this life
  Moment visitors_from_;          // of those that are counted
  int visitors_ = 0;
  std::uint64_t news_told_ = 0;
  int repeats_left_ = 0;
  Moment next_report_;
  DatagramFaults faults_;
};

}  // namespace catwalk::drivers
