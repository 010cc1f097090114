// SPDX-License-Identifier: Apache-2.0
#pragma once
// A node as a pure state machine: packets in, packets out, the time as an argument. Together with
// node_on_bus.hpp and node_on_datagrams.hpp it is the example for whoever builds a node: it uses
// nothing but protocol/, and shows every duty of PROTOCOL.md in one place.

#include <chrono>
#include <cstdint>
#include <functional>
#include <optional>
#include <utility>
#include <vector>

#include "drivers/node/node_type.hpp"
#include "protocol/bytes.hpp"
#include "protocol/datagram.hpp"
#include "protocol/message.hpp"
#include "protocol/parts.hpp"

namespace catwalk::drivers {

// Only differences between moments count; whose clock they come from does not.
using Moment = std::chrono::steady_clock::time_point;
using Millis = std::chrono::milliseconds;

struct NodeConfig {
  protocol::NodeUid uid;
  NodeType type;
  std::uint16_t firmware = 0x0100;
  Millis store_time{20};  // how long keeping settings takes; meanwhile it says Wait
  // What a reclaim is proved with: its own, else that of its line. Without one it cannot be
  // reclaimed.
  std::optional<protocol::Key> key = {};
};

// What survives a loss of power.
struct NodeMemory {
  std::uint32_t boots = 0;
  protocol::Epoch epoch;
  protocol::Address address = protocol::Address::unassigned();
  NodeSettings stored;

  friend bool operator==(const NodeMemory&, const NodeMemory&) = default;
};
NodeMemory factory_memory(const NodeConfig& config, protocol::Address address,
                          std::string label = {});

// How a request came.
struct Arrival {
  enum class Way { addressed, broadcast, datagram };
  Way way = Way::addressed;
  std::uint32_t controller = 0;  // its session; 0 on a serial line, which has one controller
  bool session_current = true;   // datagrams: it named this node's present session
  std::uint32_t highest = 0;     // datagrams: the highest session of a controller that was heard
  std::optional<Millis> heard_ago = {};  // datagrams: since that one was heard; none in this life
};

// What a hand has done at an input of a matrix.
struct Socket {
  std::optional<protocol::NodeUid> plugged;  // whose cable ends here
  bool shorted = false;
  std::int16_t level_cdbm = -9'000;                   // that comes in
  std::optional<bool> feeds = {};                     // what is plugged; not looked at yet
  std::optional<protocol::NodeUid> was_plugged = {};  // when it was looked at last
};

class EmulatedNode {
 public:
  // Starts the node: counts a boot and puts the stored settings in force.
  EmulatedNode(NodeConfig config, NodeMemory memory, Moment now);

  // The answer to a packet that reached this node, if it is to be answered. Whether it is for this
  // node (its address, its uid) has been found out before.
  std::optional<protocol::Bytes> answer(protocol::ByteView packet, const Arrival& arrival,
                                        Moment now);

  // Of an amplifier.
  protocol::Reading reading(Moment now) const;
  // Of a matrix.
  protocol::MatrixReading matrix_reading(Moment now) const;
  const std::vector<protocol::InputMeasured>& inputs() const { return measured_; }
  // What it says of itself unasked: a Report or a MatrixReport, as it is said on the wire.
  protocol::Reply report(Moment now);
  protocol::NodeUid uid() const { return config_.uid; }
  protocol::Address address() const { return memory_.address; }
  std::uint32_t boots() const { return memory_.boots; }
  const NodeType& type() const { return config_.type; }
  bool is_matrix() const { return std::holds_alternative<MatrixType>(config_.type.can); }
  const NodeSettings& in_force() const { return in_force_; }
  // Precondition: it is an amplifier; a matrix.
  const protocol::Settings& settings() const { return std::get<protocol::Settings>(in_force_); }
  const protocol::MatrixSettings& matrix_settings() const {
    return std::get<protocol::MatrixSettings>(in_force_);
  }
  // To be kept where a loss of power does not reach it, before the answer is sent.
  const NodeMemory& memory() const { return memory_; }
  // Grows when something happens that a controller should hear of without asking.
  std::uint64_t news() const { return news_; }

  // ---- what people and weather do to a node ----------------------------------------------------

  // By hand at the node. The reason if it cannot be set.
  std::optional<protocol::Refusal> turn(const NodeSettings& settings);
  // The supply fails. The node passes RF but neither amplifies nor filters, and goes on answering
  // from its hold-up supply: that is how the rack hears of it.
  void cut_power();
  // The supply is back. The node starts anew, with the stored settings in force.
  void restore_power(Moment now);
  void restart(Moment now);
  void set_detector(std::int16_t cdbm) { detector_cdbm_ = cdbm; }
  // Preconditions of these two: it is a matrix, and has this input, from 1.
  void find_at_input(std::size_t input, const protocol::InputMeasured& found);
  Socket& socket(std::size_t input) { return sockets_.at(input - 1); }
  // What comes up the cable to an amplifier.
  void set_supply(std::uint16_t millivolts) { supply_mv_ = millivolts; }
  std::uint16_t drawn(Moment now) const { return telemetry(now).supply_ma; }
  bool is_powered() const { return powered_; }
  // Answers nothing and obeys nothing, as with its cable cut.
  void silence(bool on) { silent_ = on; }
  bool is_silent() const { return silent_; }
  // Refuses every request that would change it, for this reason.
  void refuse(std::optional<protocol::RefusalReason> reason) { refuses_with_ = reason; }
  // Asks for so much patience with every request that changes it.
  void be_slow(Millis by) { slow_by_ = by; }
  // What it would say is said otherwise, as one with bad memory would (liar.hpp); it goes on doing
  // what it is told. Null: no more.
  using Mouth = std::function<protocol::Reply(protocol::Reply)>;
  void speak_through(Mouth mouth) { mouth_ = std::move(mouth); }

 private:
  struct Staged {
    protocol::Epoch epoch;
    protocol::Ticket ticket;
    NodeSettings settings;
  };
  // Settings that come in parts, under this ticket.
  struct Arriving {
    protocol::Epoch epoch;
    protocol::Ticket ticket;
    protocol::Parts parts;
  };
  // The last acting request of a controller and its answer. The same bytes again get the same
  // answer, and nothing is done a second time.
  struct Kept {
    std::uint32_t controller = 0;
    protocol::Bytes request;
    protocol::Reply reply;
    Moment ready_at;  // until then the answer is Wait
    Moment asked_at;
  };

  std::optional<protocol::Reply> serve(const protocol::Request& request, const Arrival& arrival,
                                       Moment now);
  protocol::Reply act(const protocol::Request& request, const Arrival& arrival, Moment now);
  std::optional<protocol::Reply> once(const protocol::Request& request, protocol::ByteView packet,
                                      const Arrival& arrival, Moment now);
  std::optional<protocol::Refusal> hear(protocol::Epoch epoch);
  protocol::Reply controller_heard(const Arrival& arrival) const;
  protocol::Reply stage(Staged asked);
  protocol::Reply stage_part(const protocol::StagePart& request);
  protocol::Reply read_part(const protocol::ReadPart& request) const;
  protocol::Reply kind() const;
  protocol::Reply now_reading(Moment now) const;
  protocol::Telemetry telemetry(Moment now) const;
  // What readings of all kinds have.
  template <class AReading>
  AReading begun(Moment now) const;
  void put_in_force(const NodeSettings& settings);
  void void_what_is_staged();
  protocol::Reply apply(const protocol::Apply& request);
  protocol::Reply reclaim(const protocol::Reclaim& request, const Arrival& arrival);
  Kept* kept_for(std::uint32_t controller, protocol::ByteView packet, Moment now);
  bool is_locating(Moment now) const { return now < locating_until_; }

  NodeConfig config_;
  NodeMemory memory_;
  NodeSettings in_force_;
  std::uint16_t settings_number_ = 0;
  std::vector<protocol::InputMeasured> measured_;  // of a matrix
  std::vector<Socket> sockets_;                    // likewise
  std::optional<Staged> staged_;
  std::optional<Arriving> arriving_;
  std::optional<Staged> applied_;
  std::vector<Kept> kept_;
  Moment started_;
  Moment locating_until_;
  bool powered_ = true;
  bool locally_changed_ = false;
  bool muted_ = false;
  std::uint64_t news_ = 0;

  std::int16_t detector_cdbm_ = -5200;
  std::uint16_t supply_mv_ = 12'000;
  bool silent_ = false;
  std::optional<protocol::RefusalReason> refuses_with_;
  Millis slow_by_{0};
  Mouth mouth_;
};

}  // namespace catwalk::drivers
