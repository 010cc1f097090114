// SPDX-License-Identifier: Apache-2.0
#pragma once
// Everything the core needs to know of a rack before anything moves: nodes, receivers, limits and
// the segments of the show. Read from files by config; never changed in place, only replaced whole.

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/plan/band_table.hpp"
#include "daemon/plan/datasheet.hpp"
#include "daemon/plan/names.hpp"
#include "daemon/plan/segment.hpp"

namespace catwalk::plan {

struct GainLimits {
  rf::Gain lowest;
  rf::Gain highest;
  friend bool operator==(const GainLimits&, const GainLimits&) = default;
};

// What happens when a node that was lost answers again with other settings than wanted.
enum class OnReturn { hold, reapply };
std::string_view name_of(OnReturn policy);

struct Node {
  NodeName name;
  std::uint64_t uid = 0;  // 48 bits: the node's identity, whatever its address
  LineName line;
  std::shared_ptr<const Datasheet> datasheet;  // never null
  std::string hangs;                           // where: "truss 2, stage left"
  OnReturn on_return = OnReturn::hold;
  std::optional<GainLimits> gain_limits;  // this node's own; else the rack's
  bool simulated = false;                 // no reading of it is of a real antenna
};

struct Branch {
  std::vector<NodeName> nodes;  // any of them covers the branch; never empty
  friend bool operator==(const Branch&, const Branch&) = default;
};

struct Receiver {
  ReceiverName name;
  std::vector<Branch> branches;  // one, or two for diversity
  friend bool operator==(const Receiver&, const Receiver&) = default;
};

struct RackPlan {
  std::string name;
  std::string region;  // empty: unknown
  std::optional<GainLimits> gain_limits;
  std::vector<LineName> lines;
  std::vector<Node> nodes;
  std::vector<Receiver> receivers;
  std::vector<Segment> segments;  // never empty
  BandTable bands;                // of the region; no rows if it is unknown

  // Null if there is none.
  const Node* find(const NodeName& name) const;
  const Segment* find(const SegmentName& name) const;
  const Receiver* find(const ReceiverName& name) const;
  // "Does this node sit on a branch of this receiver?"
  static bool serves(const Receiver& receiver, const NodeName& node);
};

}  // namespace catwalk::plan
