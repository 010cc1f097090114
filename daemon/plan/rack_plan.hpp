// SPDX-License-Identifier: Apache-2.0
#pragma once
// Everything the core needs to know of a rack before anything moves: nodes, receivers, limits and
// the segments of the show. Read from files by config; never changed in place, only replaced whole.

#include <chrono>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>
#include "daemon/base/uid.hpp"
#include "daemon/base/words.hpp"

#include "daemon/plan/band_table.hpp"
#include "daemon/plan/chain.hpp"
#include "daemon/plan/datasheet.hpp"
#include "daemon/plan/limits.hpp"
#include "daemon/plan/matrix.hpp"
#include "daemon/plan/names.hpp"
#include "daemon/plan/on_return.hpp"
#include "daemon/plan/place.hpp"
#include "daemon/plan/position.hpp"
#include "daemon/plan/running_order.hpp"
#include "daemon/plan/segment.hpp"
#include "daemon/rf/external_noise.hpp"
#include "daemon/rf/propagation.hpp"

namespace catwalk::plan {

struct GainLimits {
  rf::Gain lowest;
  rf::Gain highest;
  friend bool operator==(const GainLimits&, const GainLimits&) = default;
};

struct Node {
  NodeName name;
  NodeUid uid;
  LineName line;
  std::shared_ptr<const Datasheet> datasheet;  // never null
  std::string hangs;                           // where: "truss 2, stage left"
  OnReturn on_return = OnReturn::hold;
  std::optional<GainLimits> gain_limits;  // this node's own; else the rack's
  bool simulated = false;                 // no reading of it is of a real antenna

  // Towards the carriers; of an integral antenna its own, unless said otherwise here.
  std::optional<rf::Decibel> antenna_gain = {};  // dBi, −20 to 30
  Chain lead = {};                               // from the antenna's terminals to the node
  std::optional<Chain> feed = {};                // from the node to the branch; absent: not known
  std::optional<Place> place = {};
  // Over what reflects, where it is not that of RackPlan::propagation; 0.1 to 1000 m.
  std::optional<rf::Metres> height = {};
  std::optional<InputOf> ends_at = {};  // there its feed ends; else at a branch

  rf::Decibel antenna_gain_dbi() const {
    return antenna_gain.value_or(rf::Decibel::of(datasheet->antenna_gain_dbi));
  }
};

// What lies between a node's feed and the combiner of a branch: another matrix.
struct Arm {
  std::optional<OutputOf> by = {};  // that it leaves by; absent: nothing lies between
  Chain chain = {};                 // empty also where all come by that output: then it is Branch's
  friend bool operator==(const Arm&, const Arm&) = default;
};

struct Branch {
  std::vector<NodeName> nodes;  // any of them covers the branch
  // Of a branch with several nodes: they come together in a combiner with a port for each.
  // Beyond 10·lg(nodes), 0 to 30 dB; less than 0 where a sum of sums is routed, which is refused.
  rf::Decibel combiner_excess_loss = {};
  Chain chain = {};                   // from there to the receiver's input
  std::optional<OutputOf> from = {};  // of which the routes say what `nodes` are: routed.hpp
  std::vector<Arm> arms = {};         // of each of `nodes`; empty: nothing lies between
  friend bool operator==(const Branch&, const Branch&) = default;

  bool has(const NodeName& node) const;
  // Of one of `nodes`.
  const Arm& arm_of(const NodeName& node) const;
};

// By how much stronger a carrier beside the channel may be than one in it that does the same harm:
// between the offsets straight lines, beyond the last its rejection. Below the first nothing is
// published, so nothing can be computed: a straight line down to 0 dB in the channel itself is
// taken, and explain says so.
//
// A data sheet's blocking ratio R is another thing: blocker over wanted signal when that one just
// does. The interferer in the channel that does the same lies lower than the wanted signal, too:
//   wanted x dB over the sensitivity   rejection = R + C/N + x − 10·lg(10^(x/10) − 1)
//   wanted far above it                rejection = R + protection ratio
// with C/N = needed_over_noise(). For x = 3 dB, as usual in standards (from memory), the first is
// R + C/N + 3.02 dB. It follows from powers that add: the blocker may make as much noise as lifts N
// by x dB.
struct BlockingPoint {
  rf::Frequency offset;   // between the two centres, > 0, rising
  rf::Decibel rejection;  // 0 to 150 dB
  friend bool operator==(const BlockingPoint&, const BlockingPoint&) = default;
};

// Where else a receiver hears: at its image, two intermediate frequencies away, at half an
// intermediate frequency, and wherever its maker lists a spurious response. Its band is as wide as
// the channel; `rejection` means what that of a BlockingPoint does.
struct SpuriousResponse {
  std::string name;       // "image", 1 to 40 bytes; empty: it has none
  rf::Frequency offset;   // of its centre from that of the channel: signed, not 0
  rf::Decibel rejection;  // 0 to 150 dB
  friend bool operator==(const SpuriousResponse&, const SpuriousResponse&) = default;
};

// What a receiver's maker says of its antenna input.
struct ReceiverInput {
  rf::Decibel noise_figure;    // 0 to 40 dB
  rf::PowerLevel sensitivity;  // for the quality its maker promises, alone on the cable
  rf::PowerLevel overload;     // strongest signal that it is specified for
  rf::PowerLevel input_ip3;
  rf::Decibel protection_ratio;              // carrier over interference in the channel, 0 to 60 dB
  std::vector<BlockingPoint> blocking = {};  // empty: not said
  std::vector<SpuriousResponse> spurious_responses = {};  // likewise, each offset once
  friend bool operator==(const ReceiverInput&, const ReceiverInput&) = default;

  // Carrier over noise that the sensitivity stands for, in a channel of this width (> 0).
  rf::Decibel needed_over_noise(rf::Frequency bandwidth) const;
  // Nothing: no figures are given.
  std::optional<rf::Decibel> blocking_rejection(rf::Frequency offset) const;
};

struct Receiver {
  ReceiverName name;
  std::vector<Branch> branches;             // one, or two for diversity
  std::optional<ReceiverInput> input = {};  // absent: not known
  friend bool operator==(const Receiver&, const Receiver&) = default;
};

// One branch of a receiver that hears through a node.
struct ServedBranch {
  ReceiverName receiver;
  std::size_t branch = 1;  // counted from 1
  friend bool operator==(const ServedBranch&, const ServedBranch&) = default;
};

// What a line needs for its traffic, for predictions.
struct LineTiming {
  std::uint32_t baud = 0;                   // 10 bits a byte; 0: bytes take no time
  std::chrono::microseconds turn_round{0};  // from a question's end to the answer's begin
  bool all_at_once = false;                 // nodes do not wait for each other
  friend bool operator==(const LineTiming&, const LineTiming&) = default;
};

// What comes in by the antennas beside kT0: as usual at such a place, or as it was measured over
// kT0B, 0 to 60 dB, the same at all frequencies in use.
using ManMadeNoise = std::variant<rf::NoisePlace, rf::Decibel>;

struct RackPlan {
  std::string name;
  std::string region;  // empty: unknown
  std::optional<GainLimits> gain_limits;
  std::vector<LineName> lines;
  std::map<LineName, LineTiming> line_timings = {};  // of lines of which it is known
  std::vector<Node> nodes;
  std::vector<Matrix> matrices = {};
  std::vector<Receiver> receivers;
  std::vector<Segment> segments;  // never empty
  RunningOrder running_order = {};
  BandTable bands;                         // of the region; no rows if it is unknown
  std::optional<Position> stands_at = {};  // for rows that hold in some areas; absent: not known
  Limits limits = {};
  // What the ways through the air run over or among. Over a surface: with the heights of a node and
  // of a carrier that say nothing else.
  rf::Propagation propagation = rf::FreeSpace{};
  std::optional<ManMadeNoise> man_made_noise = {};  // absent: not counted
  // What this one was routed from (routed.hpp). Null: it is a described one itself.
  std::shared_ptr<const RackPlan> described = {};

  // Null if there is none.
  const Node* find(const NodeName& name) const;
  const Segment* find(const SegmentName& name) const;
  const Receiver* find(const ReceiverName& name) const;
  const Matrix* find_matrix(const NodeName& name) const;
  // Those that hold for a node: its own, else the rack's. Nothing: the datasheet's alone.
  const std::optional<GainLimits>& limits_of(const Node& node) const {
    return node.gain_limits ? node.gain_limits : gain_limits;
  }
  // Over kT0B at an antenna's terminals, at least 0 dB: rf::with_external_noise().
  rf::Decibel external_noise(rf::Frequency at) const;
  // The gains that datasheet and limits both allow, on steps of the datasheet; nothing: none.
  std::optional<Steps<rf::Gain>> gains_of(const Node& node) const;
  // Where the chain of a node ends, in the order of the receivers.
  std::vector<ServedBranch> served_by(const NodeName& node) const;
  // "Does this node sit on a branch of this receiver?"
  static bool serves(const Receiver& receiver, const NodeName& node);
};

}  // namespace catwalk::plan
