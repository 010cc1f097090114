// SPDX-License-Identifier: Apache-2.0
#pragma once
// Show control without its socket: datagrams, answers and snapshots in, effects out; time is an
// argument. Wall time counts for time tags, when they arrive, and the steady clock for all that
// waits, so that a wall clock that is put moves nothing.
//
//   datagram ─ known sender? ─ a packet? ─ every message understood? ─┬─ now: carried out in order
//              (else dropped and counted)  (else nothing of it is done) └─ up to 10 s ahead: waits
//
// A bundle with one message that is not understood is refused whole, and each such message gets its
// reply. Every command that is carried out is answered: at once, or when the core has answered; a
// switch when it has begun, and when it has ended.

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/control/command.hpp"
#include "daemon/control/counters.hpp"
#include "daemon/control/feedback.hpp"
#include "daemon/control/osc_packet.hpp"
#include "daemon/control/peer.hpp"
#include "daemon/control/reply.hpp"
#include "daemon/rack/core/effect.hpp"
#include "daemon/rack/core/event.hpp"
#include "daemon/rack/outlook/preview.hpp"
#include "daemon/rack/values/snapshot.hpp"
#include "protocol/bytes.hpp"

namespace catwalk::control {

struct Moment {
  rack::TimePoint wall;
  Steady steady;
};

// What an answer belongs to. Each is used once.
using Ticket = std::uint64_t;

// A request to the core, whose `request` member is for others to fill in. Its answers come back
// through answered().
struct Ask {
  Ticket ticket = 0;
  rack::Event request;
};
// Takes up to some hundred milliseconds: to be computed elsewhere, by rack::preview(*snapshot,
// segment). Comes back through previewed().
struct ComputePreview {
  Ticket ticket = 0;
  rack::SnapshotPtr snapshot;
  plan::SegmentName segment;
};
// A line for the log.
struct Note {
  std::string line;
};
using Effect = std::variant<Transmission, Ask, ComputePreview, Note>;
using Effects = std::vector<Effect>;

class ShowControl {
 public:
  // Time tags further ahead are refused.
  static constexpr std::chrono::seconds furthest_ahead{10};
  // Messages that wait for their time.
  static constexpr std::size_t most_scheduled = 64;
  // Requests that the core has not answered; previews that are not computed.
  static constexpr std::size_t most_asked = 64;
  static constexpr std::size_t most_previews = 4;
  // Between two lines in the log about what was dropped.
  static constexpr std::chrono::seconds note_pause{10};

  ShowControl(const Setup& setup, rack::SnapshotPtr snapshot);

  Effects received(const Peer& from, protocol::ByteView datagram, Moment now);
  // Both of the answers of a switch: `accepted`, and its end.
  Effects answered(Ticket ticket, const rack::Answer& answer);
  Effects previewed(Ticket ticket, const rack::Preview& preview);
  Effects published(rack::SnapshotPtr snapshot, Steady now);
  // Somebody has aborted through another door: what waits for its time is dropped.
  Effects aborted();
  // To be called when deadline() has come.
  Effects tick(Steady now);
  std::optional<Steady> deadline() const;
  // A datagram could not be sent.
  void not_sent() { ++counters_.unsent; }

  const Counters& counters() const { return counters_; }

 private:
  struct Order {  // a command and who gave it
    Peer from;
    About about;
    Command command;
  };
  struct Waiting {
    Peer from;
    About about;
  };
  struct Turn;

  bool knows(const Peer& peer) const;
  void dropped(Turn& turn, std::string what);
  void tell(Effects& effects, const Peer& to, const Message& message);
  void take(Turn& turn, const Peer& from, const Packet& packet);
  void carry_out(Turn& turn, const Order& order);
  void ask(Turn& turn, const Order& order, rack::Event request);
  void preview(Turn& turn, const Order& order, const plan::SegmentName& segment);
  void subscribe(Turn& turn, const Order& order, const Subscribe& what);
  void unsubscribe(Turn& turn, const Order& order, const Unsubscribe& what);
  void drop_scheduled(Effects& effects);
  void look(Turn& turn);

  std::vector<Sender> senders_;
  rack::SnapshotPtr snapshot_;
  Feedback feedback_;
  Counters counters_;
  std::multimap<Steady, Order> scheduled_;
  Ticket last_ticket_ = 0;
  std::map<Ticket, Waiting> asked_;
  std::map<Ticket, Waiting> previews_;
  std::optional<Steady> noted_at_;
  std::uint64_t unnoted_ = 0;  // dropped since
};

}  // namespace catwalk::control
