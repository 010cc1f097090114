// SPDX-License-Identifier: Apache-2.0
#pragma once
// The physics of nodes, kept from one check to the next while nothing changes that it comes from:
// plan and segment, what the other antennas of a combiner are in and, where a share of the time is
// wanted, those of other branches. A node's own settings are not in it. One thread at a time may
// ask.

#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "daemon/rack/levels/budget.hpp"
#include "daemon/rack/levels/distortion.hpp"
#include "daemon/rack/levels/node_physics.hpp"

namespace catwalk::rack {

class KnownPhysics {
 public:
  // Keeps this plan. Without one, whoever asks sees to it that what is asked about lives as long.
  explicit KnownPhysics(std::shared_ptr<const plan::RackPlan> plan = nullptr)
      : plan_{std::move(plan)} {}

  const plan::RackPlan* plan() const { return plan_.get(); }

  class Node {
   public:
    explicit Node(NodePhysics physics) : physics_{std::move(physics)} {}
    const NodePhysics& physics() const { return physics_; }
    // For products at whatever settings; kept while nobody asks for another node.
    SharedSearches& searches() const { return searches_; }
    // Without power. Worked out when first asked for, with these searches.
    const Budget& passive() const;

   private:
    friend class KnownPhysics;
    NodePhysics physics_;
    mutable SharedSearches searches_;
    mutable std::optional<Budget> passive_;
  };

  std::shared_ptr<const Node> of(const plan::RackPlan& plan, const plan::Segment& segment,
                                 const plan::Node& node, const SettingsOf& others);

 private:
  // Of those asked for last. With 120 carriers a node is some 150 kB for each receiver behind it,
  // another antenna half of that.
  static constexpr std::size_t most_nodes = 8;
  static constexpr std::size_t most_others = 64;
  template <class T>
  struct Entry {
    const plan::Segment* segment;
    const plan::Node* node;
    std::shared_ptr<const T> known;
  };
  template <class T>
  using Entries = std::vector<Entry<T>>;  // asked for last comes first

  template <class T, class Holds, class Make>
  std::shared_ptr<const T> find(Entries<T>& entries, std::size_t most, const plan::Segment& segment,
                                const plan::Node& node, const Holds& holds, const Make& make);

  std::shared_ptr<const plan::RackPlan> plan_;
  Entries<Node> nodes_;  // only the first with its searches, a megabyte each
  Entries<OtherNode> others_;
};

}  // namespace catwalk::rack
