// SPDX-License-Identifier: Apache-2.0
#pragma once
// A line: one physical path to nodes. This is all that the rest of the daemon knows of hardware.
//
// A line keeps every one of its nodes read without being told to, carries commands ahead of that
// routine, and ends every command exactly once: answered, or failed. It never blocks and never
// throws; a port that is missing or pulled out is a line that is down and tries again by itself.
// All calls, and all notices, happen on the field side's one thread.

#include <chrono>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "protocol/message.hpp"

namespace catwalk::drivers {

using Clock = std::chrono::steady_clock;
using TimePoint = Clock::time_point;

// Chosen by the caller, unique among its commands under way.
using CommandId = std::uint64_t;

struct Command {
  CommandId id = 0;
  protocol::NodeUid node;     // NodeUid::everyone(): broadcast; only Apply may be
  protocol::Request request;  // Identify, Read, Stage, Apply, Discard, Store, Locate, or Reclaim:
                              // the line fills its boots and its proof in
};

enum class Fault {
  timed_out,     // the node did not answer within its retries
  line_down,     // the line is down, or went down with the command under way
  queue_full,    // more commands are waiting than the line keeps
  node_unknown,  // the line has no such node
  no_key,        // a reclaim of a node for which neither it nor its line has one
};
// "timed out", "line down" …
std::string_view name_of(Fault fault);

// ---- notices: what a line says -----------------------------------------------------------------

struct CommandAnswered {
  CommandId id = 0;
  protocol::Reply reply;  // never Wait: the line asks again by itself
};
struct CommandFailed {
  CommandId id = 0;
  Fault fault = Fault::timed_out;
};
// A routine poll, or a report that the node sent by itself.
struct NodeRead {
  protocol::NodeUid node;
  protocol::Reading reading;
};
struct NodeIdentified {
  protocol::NodeUid node;
  protocol::Identity identity;
};
// Nothing heard within the retries of a poll. Said once; the next NodeRead ends it.
struct NodeSilent {
  protocol::NodeUid node;
};
// The node refuses to be read, since it obeys a controller of this higher epoch. NodeSilent
// follows.
struct NodeObeysOther {
  protocol::NodeUid node;
  protocol::Epoch epoch;
};
// The node sends so many reports that few of them are heeded (Brake); or it is calm again.
struct NodeBabbles {
  protocol::NodeUid node;
  bool babbles = true;
};
struct LineUp {};
struct LineDown {
  std::string reason;
};
// One for each node found, then DiscoveryEnded. `known`: the line already serves it.
struct NodeDiscovered {
  protocol::NodeUid node;
  protocol::Address address;
  bool known = false;
};
struct DiscoveryEnded {
  std::size_t found = 0;
  std::string trouble;  // empty: the search was complete
};

using Notice =
    std::variant<CommandAnswered, CommandFailed, NodeRead, NodeIdentified, NodeSilent,
                 NodeObeysOther, NodeBabbles, LineUp, LineDown, NodeDiscovered, DiscoveryEnded>;
using NoticeHandler = std::function<void(Notice)>;

// Totals since start; each only grows.
struct LineCounters {
  std::uint64_t frames_sent = 0;
  std::uint64_t frames_received = 0;
  std::uint64_t bytes_sent = 0;
  std::uint64_t bytes_received = 0;
  std::uint64_t retries = 0;
  std::uint64_t time_outs = 0;
  std::uint64_t malformed = 0;   // failed framing, CRC or codec
  std::uint64_t forged = 0;      // datagrams whose HMAC does not match
  std::uint64_t replayed = 0;    // counter already seen, or too far behind
  std::uint64_t unexpected = 0;  // well-formed, but nobody asked, or an unknown node
  std::uint64_t thinned = 0;     // reports held back, since the node sent too many
  friend bool operator==(const LineCounters&, const LineCounters&) = default;
};

class Line {
 public:
  Line() = default;
  Line(const Line&) = delete;
  Line& operator=(const Line&) = delete;
  virtual ~Line() = default;

  // Opens the line and begins to poll. The handler is called from then on, never from within a call
  // into the line.
  virtual void start(NoticeHandler handler) = 0;
  // Ends every command under way with line_down and says nothing after that.
  virtual void stop() = 0;
  // Queues a command ahead of routine polling.
  virtual void submit(Command command) = 0;
  // Searches for nodes; a search under way goes on.
  virtual void discover() = 0;
  // The controller's epoch from now on. Only lines that sign what they send with it need to know.
  virtual void speak_as(protocol::Epoch) {}
  virtual LineCounters counters() const = 0;
};

}  // namespace catwalk::drivers
