// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the nodes truly have, and had: looked at in the nodes themselves, past
// every wire.

#include <algorithm>
#include <deque>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "daemon/plan/device.hpp"
#include "daemon/plan/names.hpp"
#include "daemon/plan/node_settings.hpp"
#include "drivers/node/matrix_actions.hpp"
#include "tests/simulation/virtual_line.hpp"

namespace catwalk::simulation {

// An amplifier or a matrix.
struct TrueNode {
  plan::NodeName name;
  protocol::NodeUid uid;
  VirtualLine* line = nullptr;
  drivers::EmulatedNode* node = nullptr;
  struct Since {
    Moment from;
    plan::NodeSettings settings;
  };
  std::deque<Since> history;              // newest last; never empty
  drivers::NodeSettings told;             // the newest, as the node has them
  std::uint32_t boots = 0;                // when it was looked at last
  bool powered = true;                    // likewise
  std::optional<Moment> started_at = {};  // last, as far as it was looked at
  bool lies = false;
  std::optional<Moment> lied_until;

  // What it says is not what it has, or was not until a moment ago: of such a node nothing is
  // promised but that it costs the others nothing.
  bool is_not_believed(Moment now) const {
    return lies || (lied_until && now - *lied_until < std::chrono::minutes{1});
  }

  const plan::NodeSettings& settings() const { return history.back().settings; }
  bool is_powered() const { return node->is_powered(); }
  // At some moment not before `since`.
  bool had(const plan::NodeSettings& what, Moment since) const {
    for (std::size_t i = history.size(); i-- > 0;) {
      if (history[i].settings == what) return true;
      if (history[i].from <= since) return false;
    }
    return false;
  }
};

class Truth {
 public:
  // In the order of the plan: amplifiers, then matrices. Cables are where they should be.
  Truth(const Show& show, const std::vector<std::unique_ptr<VirtualLine>>& lines, Moment now) {
    for (std::size_t i = 0; i < plan::count_devices(*show.plan); ++i) {
      const auto name = plan::device_at(*show.plan, i).name();
      for (const auto& line : lines)
        if (auto* node = line->find(name))
          nodes_.push_back({name,
                            node->uid(),
                            line.get(),
                            node,
                            {{now, from_wire(node->in_force())}},
                            node->in_force(),
                            node->boots(),
                            true,
                            {},
                            false,
                            {}});
    }
    if (!show.routed) return;
    for (const auto& one : nodes_) all_.push_back(one.node);
    for (const auto& node : show.plan->nodes) plug(node, true);
    look(
        now, [](const auto&) {}, [](const auto&, const auto&) {});
  }

  // Somebody was at a node or at a cable: who has supply is worked out anew.
  void touched() { by_hand_ = true; }

  // The cable of an antenna that lives on it ends at its matrix, or hangs loose.
  void plug(const plan::Node& antenna, bool in) {
    if (!antenna.ends_at || !antenna.datasheet->supply) return;
    auto& socket = find(antenna.ends_at->matrix)->node->socket(antenna.ends_at->input);
    if (in == socket.plugged.has_value()) return;
    socket.plugged = in ? std::optional{antenna.uid} : std::nullopt;
    auto* node = find(antenna.name)->node;
    // What hangs loose has no supply, though somebody should start it anew.
    if (in)
      std::erase(loose_, node);
    else
      loose_.push_back(node);
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

  // Who lives on whose supply has it, or has lost it. Calls supplied(node) for each that has
  // started anew or lost its supply since it was looked at last, and changed(node, before) for each
  // that has other settings than then.
  template <class Supplied, class Changed>
  void look(Moment now, Supplied&& supplied, Changed&& changed) {
    if (!all_.empty() && (std::exchange(by_hand_, false) || is_another())) settle(now);
    for (auto& one : nodes_) {
      if (one.node->boots() != one.boots || one.node->is_powered() != one.powered) {
        supplied(one);
        if (one.node->boots() != one.boots) one.started_at = now;
        one.boots = one.node->boots();
        one.powered = one.node->is_powered();
      }
      if (one.node->in_force() == one.told) continue;
      const auto before = one.settings();
      one.told = one.node->in_force();
      one.history.push_back({now, from_wire(one.told)});
      if (one.history.size() > remembered) one.history.pop_front();
      changed(one, before);
    }
  }

 private:
  bool is_another() const {
    return std::ranges::any_of(nodes_, [](const TrueNode& one) {
      return one.node->in_force() != one.told || one.node->boots() != one.boots ||
             one.node->is_powered() != one.powered;
    });
  }
  void settle(Moment now) {
    drivers::settle_supplies(all_, now);
    for (auto* node : loose_)
      if (node->is_powered()) node->cut_power();
  }

  bool by_hand_ = true;
  static constexpr std::size_t remembered = 64;
  std::vector<TrueNode> nodes_;
  std::vector<drivers::EmulatedNode*> all_;    // where there are matrices; else empty
  std::vector<drivers::EmulatedNode*> loose_;  // those whose cable is off its matrix
};

}  // namespace catwalk::simulation
