// SPDX-License-Identifier: Apache-2.0
#pragma once
// The controller of several nodes over datagrams. Each node has one question under way at most, and
// nodes do not wait for each other. A question is sent again, with growing pauses and the same
// sequence number, until it is answered; every sending has a counter of its own.
//
// A node may move to another address at any time: whatever is authentic, fresh and answers this
// controller's present session tells where it is now. What does not answer it may be a recording of
// days ago, which no window knows: nothing is learnt from it. It is a rumour of where the node
// might be; the node is asked there as well, and moves only when it answers. One that falls silent
// is looked for where it was configured to be, in turns.
//
// A node that reports without end is thinned (Brake), so that it costs the others nothing.

#include <deque>
#include <map>
#include <optional>
#include <set>
#include <unordered_map>
#include <vector>

#include "drivers/engine.hpp"
#include "protocol/datagram.hpp"

namespace catwalk::drivers {

struct DatagramNode {
  protocol::NodeUid uid;
  std::optional<Endpoint> endpoint;       // none: known once the node reports
  std::optional<protocol::Key> key = {};  // its own; none: that of the line stands for it
};

struct DatagramConfig {
  std::vector<DatagramNode> nodes = {};  // each uid once
  protocol::Key key;                     // of the line: of all nodes without one, and of searches
  // This controller's session. Must be higher at every start: nodes take nothing from one that is
  // over, and within a session no counter twice.
  std::uint32_t epoch = 1;
  Micros reading_age{1'000'000};     // polled so that a reading is younger
  Micros shortest_patience{50'000};  // before the second try; measured, and held between
  Micros longest_patience{200'000};  // these; doubled with every try
  int tries = 4;
  std::size_t most_commands = 4'096;  // waiting, of all nodes together
  Micros longest_wait{10'000'000};
  Micros silent_first{1'000'000};
  Micros silent_last{8'000'000};
  std::vector<Endpoint> search_points = {};  // asked in a search besides the nodes' own addresses
  Micros search_time{600'000};
  std::uint8_t first_sequence = 0;
};

class DatagramEngine {
 public:
  // Throws std::invalid_argument for a uid given twice.
  explicit DatagramEngine(DatagramConfig config);

  void up(TimePoint now);
  void down(TimePoint now, const std::string& reason);
  void submit(Command command, TimePoint now);
  // The session from now on; higher than the one before. Nodes then take nothing from the old one.
  void speak_as(protocol::Epoch epoch) { config_.epoch = epoch.value; }
  // Asks who is there, at every known address and search point. On datagrams nothing collides.
  void discover(TimePoint now);
  void received(protocol::ByteView bytes, const Endpoint& from, TimePoint now);
  void tick(TimePoint now);

  std::optional<TimePoint> deadline() const;
  Output take();
  const LineCounters& counters() const { return counters_; }

 private:
  struct Queued {
    Command command;
    bool part_of_broadcast = false;
    std::optional<protocol::Packet> packet;
    TimePoint not_before;
    Deferral deferral;
  };
  enum class Purpose { command, identify, read };
  struct Exchange {
    Purpose purpose = Purpose::read;
    std::optional<Queued> queued;
    protocol::Packet packet;
    int tries_left = 0;
    bool retried = false;
    int session_repeats = 0;
    Micros patience{0};
    TimePoint sent;
    TimePoint deadline;
  };
  struct Node {
    protocol::NodeUid uid;
    std::optional<Endpoint> endpoint;  // where it is asked: one of the next two
    std::optional<Endpoint> configured;
    protocol::Key key;
    bool has_own_key = false;
    std::optional<Endpoint> heard;     // where it was last heard
    std::optional<Endpoint> rumoured;  // where it is said to be, until it was asked there
    TimePoint heed_rumours;            // not before
    protocol::ReplayWindow window;     // of what answers the present session
    std::uint32_t session = 0;         // 0: not heard yet
    std::uint32_t counter = 0;
    std::uint8_t sequence = 0;
    bool met = false;  // has said who it is in its present session
    bool silent = false;
    TimePoint due;
    Restarts restarts{};
    Deferral deferral;  // of a question
    Brake brake;
    std::optional<protocol::Reading> thinned;  // the newest report that was held back
    Backoff pauses;
    LatencyEstimate latency;
    std::deque<Queued> queue;
    std::optional<Exchange> exchange;
  };
  struct Search {
    std::uint8_t sequence = 0;
    std::set<protocol::NodeUid> found;
    TimePoint next_call;
    TimePoint end;
  };

  void pump(Node& node, TimePoint now);
  void start(Node& node, Exchange exchange, const protocol::Request& request, std::uint8_t sequence,
             int tries, TimePoint now);
  void transmit(Node& node, TimePoint now);
  void expired(Node& node, TimePoint now);

  void on_packet(Node& node, const protocol::Packet& packet, TimePoint now);
  void answered(Node& node, const protocol::Reply& reply, TimePoint now);
  void command_answered(Node& node, Exchange exchange, const protocol::Reply& reply, TimePoint now);
  void reported(Node& node, const protocol::Reading& reading, TimePoint now);
  void let_go(Node& node, TimePoint now);
  void note_reading(Node& node, TimePoint now);
  void rumour(Node& node, const Endpoint& from, TimePoint now);
  void gone_silent(Node& node, TimePoint now);
  void part_sent(CommandId broadcast);

  void call(TimePoint now);
  bool is_found_under_line_key(const Node& node, protocol::ByteView bytes);
  void on_stranger(const protocol::Datagram& datagram);
  void discovered(protocol::NodeUid uid, bool known);

  DatagramConfig config_;
  std::vector<Node> nodes_;
  std::unordered_map<protocol::NodeUid, std::size_t> index_;
  std::map<protocol::NodeUid, protocol::ReplayWindow> strangers_;
  std::map<CommandId, std::size_t> broadcasts_;  // parts not sent yet
  std::size_t waiting_ = 0;
  std::optional<Search> search_;
  std::uint8_t search_sequence_ = 0;
  bool up_ = false;
  std::string down_reason_;
  LineCounters counters_;
  Output out_;
};

}  // namespace catwalk::drivers
