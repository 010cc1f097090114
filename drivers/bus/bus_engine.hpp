// SPDX-License-Identifier: Apache-2.0
#pragma once
// The master of one half-duplex serial line with several addressed nodes: one question at a time,
// commands first, then readings that are due, then the search for unknown nodes.
//
// Who speaks next:
//   1. moving nodes off addresses where they do not belong: rare, and nothing is safe before it
//   2. the first command whose node is not asking for patience; a broadcast is never overtaken;
//      after eight commands in a row one reading that is twice as old as it may be
//   3. the reading that has been due the longest; in turns with 4
//   4. the next question of a search
//
// An engine that asks first listens before it says anything: whoever asks on this line, while it
// does not, is another controller. It then keeps quiet until it is told to take over.
//
// Nodes are known by uid. An address is only the line's way to say it in a byte: a node that is not
// where it should be, or shares its address, is given one by its uid.
//
// A search finds all uids first (protocol::Bisection), and then asks each who it is, where it says
// that it is. A command for one that is not the line's own borrows it: it is met like any
// other, with a free address if it has none of its own, but never polled.

#include <bitset>
#include <deque>
#include <optional>
#include <vector>

#include "drivers/line/engine.hpp"
#include "drivers/line/talk.hpp"
#include "protocol/discovery.hpp"
#include "protocol/frame.hpp"

namespace catwalk::drivers {

// Characters of silence before the line changes hands (PROTOCOL.md, section 2).
constexpr std::size_t bus_gap_characters = 2;

struct BusNode {
  protocol::NodeUid uid;
  // Where it was last; none: the engine gives it one.
  std::optional<protocol::Address> address;
  std::optional<protocol::Key> key = {};  // its own: what a reclaim is proved with
};

struct BusConfig {
  std::vector<BusNode> nodes = {};    // at most 247, each uid once
  std::uint32_t baud = 115'200;       // 10 bits a byte; 0: bytes take no time
  Micros reading_age{1'000'000};      // polled so that a reading is younger; 0: all the time
  Micros turn_round{2'000};           // a node's pause before it answers
  Micros shortest_slack{4'000};       // on top, for drivers and adapters: measured, and
  Micros longest_slack{40'000};       // held between these
  int tries = 3;                      // of one request, the first counted
  int broadcasts = 2;                 // times that a broadcast is sent
  std::size_t most_commands = 1'024;  // waiting
  Micros longest_wait{10'000'000};    // patience with one question's Waits together
  Micros silent_first{1'000'000};     // pauses between attempts at a silent node
  Micros silent_last{8'000'000};
  std::uint8_t first_sequence = 0;  // any; best one that a run before did not end with
  bool asks_first = false;          // listens each time that the line comes up, and unless
  bool speaks = false;              // `speaks` says nothing before speak_as()
  protocol::Epoch epoch = {};       // told with what is heard of others (OtherSpeaks)
  Micros listen{1'000'000};         // longer than a controller whose nodes answer says nothing
};

class BusEngine {
 public:
  // Throws std::invalid_argument for more than 247 nodes, or a uid given twice.
  explicit BusEngine(BusConfig config);

  // The device is there. Everything is asked anew.
  void up(TimePoint now);
  // The device is gone. Ends every command. Said once for the same reason.
  void down(TimePoint now, const std::string& reason);

  // May speak from now on; `takes_over`: whoever else does.
  void speak_as(protocol::Epoch epoch, bool takes_over, TimePoint now);
  void fall_quiet(TimePoint now);
  void submit(Command command, TimePoint now);
  void discover(TimePoint now);
  void received(protocol::ByteView bytes, TimePoint now);
  void tick(TimePoint now);

  // When tick() is to be called next, if nothing else happens before.
  std::optional<TimePoint> deadline() const;
  Output take();
  const LineCounters& counters() const { return counters_; }

 private:
  struct Node {
    protocol::NodeUid uid;
    protocol::Address address;
    std::uint8_t sequence = 0;
    bool met = false;  // this uid has answered at this address, and not gone silent since
    bool silent = false;
    bool borrowed = false;  // not the line's own: found, and there is or was a command for it
    bool assign = false;    // to be given its address before it is asked who it is
    bool assigned = false;  // that was tried since it was met or went silent last
    int moves = 0;          // attempts to clear its address since it was met last
    std::optional<std::uint32_t> boots;
    Restarts restarts{};
    std::optional<protocol::Key> key;
    TimePoint due;
    Deferral deferral;  // of a question
    TimePoint last_reading;
    Backoff pauses;
    std::optional<Talk> poll{};  // that takes more than one question, and goes on
    KnownMatrix known{};
  };
  struct Queued {
    Command command;
    std::optional<protocol::Packet> packet;  // from the first try on: a retry is the same bytes
    TimePoint not_before;
    Deferral deferral;
    std::optional<Talk> talk = {};  // from the first try on
  };
  enum class Purpose { command, identify, read, assign, move, find, mute, unmute, introduce };
  struct Exchange {
    Purpose purpose = Purpose::read;
    std::optional<std::size_t> node;
    std::optional<Queued> queued;
    protocol::Packet packet;
    protocol::Bytes frame;
    bool answered = true;  // false: a broadcast that nobody answers
    int tries_left = 0;
    bool for_command = false;  // made to reach a node for whom commands wait
    bool garbage = false;      // bytes came that were no packet
    TimePoint sent;
    TimePoint deadline;
  };

  struct Search {
    protocol::Bisection bisection;
    std::size_t introduced = 0;  // of those that it found
    TimePoint not_before;        // for the next of them
    Deferral deferral;
  };

  Micros on_wire(std::size_t bytes) const;
  Node node_of(protocol::NodeUid uid, std::optional<protocol::Key> key) const;
  std::optional<std::size_t> index_of(protocol::NodeUid uid) const;
  protocol::Address free_address();

  bool is_quiet() const { return listening_until_ || held_ || !speaks_; }
  void heard_other(const protocol::Request& request, TimePoint now);
  void fail_all(Fault fault);
  void pump(TimePoint now);
  bool start_command(TimePoint now);
  bool start_move(TimePoint now);
  bool start_poll(TimePoint now, Micros overdue);
  void start_contact(std::size_t index, int tries, bool for_command, TimePoint now);
  bool start_search(TimePoint now);
  bool start_introduction(TimePoint now);
  void start(Exchange exchange, const protocol::Request& request, protocol::Address to,
             std::uint8_t sequence, int tries, TimePoint now);
  void transmit(TimePoint now);

  void on_packet(protocol::ByteView bytes, std::size_t frame_size, TimePoint now);
  void answered(const protocol::Reply& reply, TimePoint now);
  void expired(TimePoint now);
  void command_answered(Exchange exchange, const protocol::Reply& reply, TimePoint now);
  void identified(const Exchange& exchange, const protocol::Reply& reply, TimePoint now);
  void clear_address(const Exchange& exchange, protocol::NodeUid intruder, TimePoint now);
  void read(Node& node, const protocol::Reply& reply, TimePoint now);
  void note_reading(Node& node, std::uint32_t boots, TimePoint now);
  void unreachable(const Exchange& exchange, bool garbage, TimePoint now);
  void gone_silent(Node& node, TimePoint now);
  void introduction_answered(const protocol::Reply& reply, TimePoint now);
  void introduced(Doubt doubt, std::optional<protocol::Identity> identity = {});
  void search_ended(std::string trouble);
  bool is_our_own(protocol::NodeUid uid) const;
  Doubt doubt_of(const protocol::Found& found, const std::vector<protocol::Found>& among) const;
  // Borrows one that the last search found. False: it found no such node.
  bool take_in(protocol::NodeUid uid);
  void met_borrowed(const Node& borrowed, const protocol::Identity& identity);
  void forget_guests();

  BusConfig config_;
  std::vector<Node> nodes_;
  std::bitset<256> taken_;  // addresses given to somebody
  std::deque<Queued> queue_;
  std::deque<protocol::Assign> moves_;
  std::optional<Search> search_;
  std::vector<protocol::Found> found_;  // by the last search, and where they are now
  std::optional<Exchange> exchange_;
  protocol::FrameReader reader_;
  LatencyEstimate latency_;
  TimePoint quiet_until_;  // the last speaker lets go of the line
  std::uint8_t broadcast_sequence_ = 0;
  int commands_in_row_ = 0;
  bool search_next_ = false;
  bool up_ = false;
  bool speaks_;
  bool held_ = false;          // another controller was heard
  TimePoint tell_next_;        // not before, that it is heard
  protocol::Bytes last_said_;  // when we fell quiet: an adapter may hand it back yet
  std::optional<TimePoint> listening_until_;
  std::string down_reason_;
  LineCounters counters_;
  Output out_;
};

}  // namespace catwalk::drivers
