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
// A node that reports without end is thinned (Brake), so that it costs the others nothing. So are
// strangers, whose datagrams are opened no more often than Allowance lets.
//
// A search asks every node that hears it who it is. A command for one that is not the line's own
// borrows it: it is asked where it answered from, and never polled.
//
// An engine that asks first comes to each node as a visitor, which moves nothing there, and hears
// whom the node obeys. It reads nodes as a visitor until it is told to speak, and goes on so with
// those that another controller speaks to, until it is told to take over. A node that takes nothing
// from us, since it obeys a higher epoch, is such a one; each is asked again now and then.

#include <deque>
#include <map>
#include <optional>
#include <random>
#include <set>
#include <unordered_map>
#include <vector>

#include "drivers/line/engine.hpp"
#include "drivers/line/talk.hpp"
#include "protocol/datagram.hpp"
#include "protocol/our_epochs.hpp"

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
  // Asks nodes whom they obey before it speaks to them under its epoch, and unless `speaks` not
  // before speak_as().
  bool asks_first = false;
  bool speaks = false;
  protocol::OurEpochs ours = {};   // spoken under before
  std::uint32_t visitor_seed = 1;  // of the numbers that tell an answer from a recording
};

class DatagramEngine {
 public:
  // Throws std::invalid_argument for a uid given twice.
  explicit DatagramEngine(DatagramConfig config);

  void up(TimePoint now);
  void down(TimePoint now, const std::string& reason);
  void submit(Command command, TimePoint now);
  // The session from now on; higher than the one before. Nodes then take nothing from the old one.
  // `takes_over`: from another controller too.
  void speak_as(protocol::Epoch epoch, bool takes_over, TimePoint now);
  void fall_quiet(TimePoint now);
  // Asks who is there, at every known address and search point, and at these besides. On datagrams
  // nothing collides.
  void discover(TimePoint now, std::vector<Endpoint> points = {});
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
    std::optional<Talk> talk = {};  // from the first try on
  };
  enum class Purpose { command, ask, identify, read };
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
    std::vector<std::uint32_t> visits = {};  // the numbers of its tries, made as a visitor
  };
  struct Node {
    protocol::NodeUid uid;
    std::optional<Endpoint> endpoint;  // where it is asked: one of the next two
    std::optional<Endpoint> configured;
    protocol::Key key;
    bool has_own_key = false;
    bool borrowed = false;             // not the line's own: found, and there is a command for it
    std::optional<Endpoint> heard;     // where it was last heard
    std::optional<Endpoint> rumoured;  // where it is said to be, until it was asked there
    TimePoint heed_rumours;            // not before
    protocol::ReplayWindow window;     // of what answers the present session
    std::uint32_t session = 0;         // 0: not heard yet
    std::uint32_t counter = 0;
    std::uint8_t sequence = 0;
    bool met = false;  // has said who it is in its present session
    bool silent = false;
    bool asked = false;     // has told whom it obeys
    bool missed = false;    // was asked, and did not answer
    bool held = false;      // by another controller
    TimePoint ask_again{};  // where we may not speak: not before
    TimePoint due;
    Restarts restarts{};
    Deferral deferral;  // of a question
    Brake brake;
    std::optional<protocol::Reading> thinned;  // the newest report that was held back
    std::optional<Talk> poll{};                // that takes more than one question, and goes on
    KnownMatrix known{};
    Backoff pauses;
    LatencyEstimate latency;
    std::deque<Queued> queue;
    std::optional<Exchange> exchange;
  };
  // Has the line's key, and is not the line's own.
  struct Stranger {
    protocol::ReplayWindow window;  // of what answers the present session
    Endpoint from;                  // as its row says
    std::uint32_t session = 0;      // by then
  };
  struct Search {
    std::uint8_t sequence = 0;
    std::vector<Endpoint> points;
    std::set<std::uint32_t> visits;            // the numbers of its datagrams, made as a visitor
    std::map<protocol::NodeUid, Doubt> found;  // as was told
    TimePoint next_call;
    TimePoint end;
    std::string trouble;  // so far
  };

  bool may_speak_to(const Node& node) const;
  std::uint32_t new_visit() { return static_cast<std::uint32_t>(visits_() | 1U); }
  // Does it answer us: a question to the node, or the search?
  bool is_to_us(const Node& node, std::uint32_t peer_session) const;
  bool is_to_search(std::uint32_t peer_session) const;
  void pump(Node& node, TimePoint now);
  void start(Node& node, Exchange exchange, const protocol::Request& request, std::uint8_t sequence,
             int tries, TimePoint now);
  void transmit(Node& node, TimePoint now);
  void expired(Node& node, TimePoint now);

  void on_packet(Node& node, const protocol::Packet& packet, TimePoint now);
  void answered(Node& node, const protocol::Reply& reply, TimePoint now);
  bool read_answered(Node& node, const protocol::Reply& reply, TimePoint now);
  void told_whom_it_obeys(Node& node, const protocol::Reply& reply, TimePoint now);
  std::optional<OtherSpeaks> other_of(const Node& node, const protocol::Reply& reply) const;
  void answers_again(Node& node, TimePoint now);
  void is_held_by(Node& node, const OtherSpeaks& other, TimePoint now);
  void tells_nobody(Node& node);
  void say_if_all_asked();
  void fail_waiting(Node& node, Fault fault);
  void command_answered(Node& node, Exchange exchange, const protocol::Reply& reply, TimePoint now);
  void reported(Node& node, const protocol::Reading& reading, TimePoint now);
  void let_go(Node& node, TimePoint now);
  void note_reading(Node& node, TimePoint now);
  void rumour(Node& node, const Endpoint& from, TimePoint now);
  void gone_silent(Node& node, TimePoint now);
  void part_sent(CommandId broadcast);

  void call(TimePoint now);
  bool is_found_under_line_key(Node& node, protocol::ByteView bytes, const Endpoint& from,
                               TimePoint now);
  void on_stranger(const protocol::Datagram& datagram, const Endpoint& from);
  // False: it was told of already.
  bool discovered(protocol::NodeUid uid, bool known, const Endpoint& from,
                  const std::optional<protocol::Identity>& identity);
  Node node_of(const DatagramNode& node) const;
  // Borrows one that the last search found. Nothing: it found no such node.
  Node* take_in(protocol::NodeUid uid);
  void forget_guests();

  DatagramConfig config_;
  std::vector<Node> nodes_;
  std::unordered_map<protocol::NodeUid, std::size_t> index_;
  std::map<protocol::NodeUid, Stranger> strangers_;
  std::set<protocol::NodeUid> found_;  // strangers that the last search found
  Allowance strangers_heeded_{4'000};
  std::map<CommandId, std::size_t> broadcasts_;  // parts not sent yet
  std::size_t waiting_ = 0;
  std::optional<Search> search_;
  std::uint8_t search_sequence_ = 0;
  std::uint32_t borrowed_counter_ = 0;
  bool up_ = false;
  bool speaks_;  // as a controller
  bool all_asked_ = false;
  std::mt19937 visits_;
  std::string down_reason_;
  LineCounters counters_;
  Output out_;
};

}  // namespace catwalk::drivers
