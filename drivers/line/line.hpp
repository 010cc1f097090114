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
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daemon/base/endpoint.hpp"
#include "protocol/fault.hpp"
#include "protocol/message.hpp"
#include "protocol/whole.hpp"

namespace catwalk::drivers {

using Clock = std::chrono::steady_clock;
using TimePoint = Clock::time_point;

// Chosen by the caller, unique among its commands under way.
using CommandId = std::uint64_t;

struct Command {
  CommandId id = 0;
  // Of the line, or, to be asked who it is or to blink, one that its last search found.
  // NodeUid::everyone(): broadcast; only Apply may be.
  protocol::NodeUid node;
  protocol::Ask request;  // Identify, Read, Stage, StageMatrix, Apply, Discard, Store, Locate, or
                          // Reclaim: the line fills its boots and its proof in
};

using protocol::Fault;
using protocol::name_of;

// ---- notices: what a line says -----------------------------------------------------------------

struct CommandAnswered {
  CommandId id = 0;
  protocol::Answer reply;  // never Wait: the line asks again by itself
};
struct CommandFailed {
  CommandId id = 0;
  Fault fault = Fault::timed_out;
};
// A routine poll, or a report that the node sent by itself.
struct NodeRead {
  protocol::NodeUid node;
  protocol::AnyReading reading;
};
struct NodeIdentified {
  protocol::NodeUid node;
  protocol::Identity identity;
};
// Nothing heard within the retries of a poll. Said once; the next NodeRead ends it.
struct NodeSilent {
  protocol::NodeUid node;
};
// Another controller speaks to this node, or on the whole line (NodeUid::everyone()), where a
// serial line carries those of all; or the node takes nothing from us, since it obeys a higher
// epoch. Nothing is said there until speak_as() is told to take over. Said again every few seconds.
struct OtherSpeaks {
  protocol::NodeUid node;
  protocol::Epoch epoch;                // 0: not told
  std::optional<std::uint32_t> ago_ms;  // since it was heard; absent: the node cannot tell
  protocol::Epoch under;                // that the line had then, which tells an old notice
};
// It was asked, and nobody else speaks to it.
struct NodeFree {
  protocol::NodeUid node;
};
// Of a line that asks first: everybody who could be asked whom they obey has told, or has had time
// to. A shared line says so each time that it came up and nobody else was heard.
struct LineAsked {};
// The node sends so many reports that few of them are heeded (Brake); or it is calm again.
struct NodeBabbles {
  protocol::NodeUid node;
  bool babbles = true;
};
struct LineUp {};
struct LineDown {
  std::string reason;
};
// What is wrong with a node that was found: where it is, or what it says of itself.
enum class Doubt {
  none,
  no_address,       // it has none yet
  address_shared,   // another that was found has the same, or one of the line's own
  no_answer,        // it does not say what it is
  another_answers,  // at its address, or in its name
  not_understood,   // what it says is none of what it may say
  not_asked,        // the line went down before
};
// "It has no address yet: …", with what to do; empty for none.
std::string_view sentence_of(Doubt doubt);

// One for each node found, then DiscoveryEnded. Said once more of a node when what was in doubt is
// not any more.
struct NodeDiscovered {
  protocol::NodeUid node;
  protocol::Address address;                        // 255: it has none yet, or no serial side
  bool known = false;                               // the line already serves it
  std::optional<Endpoint> endpoint = {};            // datagrams: where it answered from
  std::optional<protocol::Identity> identity = {};  // what it said of itself, if it did
  Doubt doubt = Doubt::none;
};
struct DiscoveryEnded {
  std::size_t found = 0;
  std::string trouble;  // empty: the search was complete
};

// Nodes that one search tells of; more than any line has.
constexpr std::size_t most_discovered = 1'024;

using Notice = std::variant<CommandAnswered, CommandFailed, NodeRead, NodeIdentified, NodeSilent,
                            OtherSpeaks, NodeFree, LineAsked, NodeBabbles, LineUp, LineDown,
                            NodeDiscovered, DiscoveryEnded>;
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
  std::uint64_t thinned = 0;     // held back or not heeded: too many reports, or strangers
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
  // The controller's epoch from now on. A line that asks first says nothing as a controller before
  // it is told this; and where another one speaks, not before it is told to take over.
  virtual void speak_as(protocol::Epoch epoch, bool takes_over) = 0;
  // Another controller has the rack: as if it had asked first, and was not told to speak. Ends
  // every command under way with other_speaks.
  virtual void fall_quiet() = 0;
  virtual LineCounters counters() const = 0;
};

}  // namespace catwalk::drivers
