// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the nodes truly have, and had: looked at in the nodes themselves, past
// every wire.

#include <deque>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/plan/names.hpp"
#include "daemon/plan/settings.hpp"
#include "daemon/rack/values/wire.hpp"
#include "tests/simulation/virtual_line.hpp"

namespace catwalk::simulation {

struct TrueNode {
  plan::NodeName name;
  protocol::NodeUid uid;
  VirtualLine* line = nullptr;
  drivers::EmulatedNode* node = nullptr;
  struct Since {
    Moment from;
    plan::Settings settings;
  };
  std::deque<Since> history;  // newest last; never empty
  bool lies = false;
  std::optional<Moment> lied_until;

  // What it says is not what it has, or was not until a moment ago: of such a node nothing is
  // promised but that it costs the others nothing.
  bool is_not_believed(Moment now) const {
    return lies || (lied_until && now - *lied_until < std::chrono::minutes{1});
  }

  const plan::Settings& settings() const { return history.back().settings; }
  bool is_powered() const { return node->reading({}).telemetry.powered; }
  // At some moment not before `since`.
  bool had(const plan::Settings& what, Moment since) const {
    for (std::size_t i = history.size(); i-- > 0;) {
      if (history[i].settings == what) return true;
      if (history[i].from <= since) return false;
    }
    return false;
  }
};

class Truth {
 public:
  // In the order of the plan.
  Truth(const Show& show, const std::vector<std::unique_ptr<VirtualLine>>& lines, Moment now) {
    for (const auto& planned_node : show.plan->nodes)
      for (const auto& line : lines)
        if (auto* node = line->find(planned_node.name))
          nodes_.push_back({planned_node.name,
                            node->uid(),
                            line.get(),
                            node,
                            {{now, rack::from_wire(node->settings())}},
                            false,
                            {}});
  }

  const std::vector<TrueNode>& nodes() const { return nodes_; }
  TrueNode* find(protocol::NodeUid uid) {
    for (auto& node : nodes_)
      if (node.uid == uid) return &node;
    return nullptr;
  }
  void lies(protocol::NodeUid uid, bool on, Moment now) {
    auto* node = find(uid);
    if (node->lies && !on) node->lied_until = now;
    node->lies = on;
  }
  const TrueNode* find(const plan::NodeName& name) const {
    for (const auto& node : nodes_)
      if (node.name == name) return &node;
    return nullptr;
  }

  // Calls changed(node, before) for each that has other settings than when it
  // was looked at last.
  template <class Changed>
  void look(Moment now, Changed&& changed) {
    for (auto& one : nodes_) {
      const auto& wire = one.node->settings();
      const auto& known = one.settings();
      const bool same = wire.gain_cdb == known.gain.centidecibels() &&
                        wire.filter == known.filter && wire.centre_hz == known.centre.hertz() &&
                        wire.power == known.power && wire.label == known.label;
      if (same) continue;
      const auto before = known;
      one.history.push_back({now, rack::from_wire(wire)});
      if (one.history.size() > remembered) one.history.pop_front();
      changed(one, before);
    }
  }

 private:
  static constexpr std::size_t remembered = 64;
  std::vector<TrueNode> nodes_;
};

}  // namespace catwalk::simulation
