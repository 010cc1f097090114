// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/powers_met.hpp"

#include <array>
#include <memory>
#include <set>
#include <unordered_map>
#include <utility>

#include "daemon/plan/routed.hpp"

namespace catwalk::rack {
namespace {

using plan::Settings;

// Which matrices have moved what: those at which cables end first, and those behind them. In flight
// outputs settle in their own time, and so do inputs, with trims and supplies.
using Moved = unsigned;
constexpr Moved outputs = 1;
constexpr Moved inputs = 2;
constexpr unsigned behind = 2;  // bits to shift by, of a matrix that another one ends at

std::optional<Settings> settings_at(const NodeOnTheWay& node, bool window, bool gain, bool late) {
  auto before = node.old_settings(late);
  if (!node.mover) return before;
  const auto after = node.new_settings(late);
  if (!before) return window ? after : std::nullopt;
  auto settings = window ? *after : *before;
  settings.gain = gain ? after->gain : before->gain;
  return settings;
}

class PowersMet {
 public:
  PowersMet(const SwitchTask& task, const plan::RackPlan& then,
            const std::vector<NodeOnTheWay>& nodes, const Reach::MovingMatrices& matrices,
            const std::vector<plan::Segment>& between)
      : task_{task}, then_{then}, nodes_{nodes}, matrices_{matrices}, between_{between} {
    for (const auto& matrix : task.plan.matrices)
      for (const auto& [output, onward] : matrix.onward) behind_.insert(onward.to.matrix);
    for (const auto& [name, mover] : matrices_) moving_ |= (outputs | inputs) << level_of(name);
  }

  Meetings find() {
    for (std::size_t i = 0; i < nodes_.size(); ++i) {
      add_end(i, task_.plan, *nodes_[i].node, task_.left, nodes_[i].first(), &Meeting::start);
      add_end(i, then_, *nodes_[i].then, task_.entered, nodes_[i].last(), &Meeting::end);
      add_powers(i);
    }
    Meetings all;
    for (auto& [key, meeting] : meetings_) all.emplace(key, whole(std::move(meeting)));
    return all;
  }

 private:
  unsigned level_of(const plan::NodeName& matrix) const {
    return behind_.contains(matrix) ? behind : 0;
  }
  std::optional<std::size_t> mover_of(const plan::NodeName& matrix) const {
    const auto found = matrices_.find(matrix);
    return found == matrices_.end() ? std::nullopt : std::optional{found->second};
  }

  const plan::RackPlan& plan_at(Moved moved) {
    moved &= moving_;
    if (moved == 0) return task_.plan;
    auto& plan = plans_[moved];
    if (plan) return *plan;
    plan::MatricesNow now;
    for (const auto& [name, mover] : matrices_) {
      const auto& before = *task_.plan.find_matrix(name);
      const auto& after = *then_.find_matrix(name);
      const auto own = moved >> level_of(name);
      auto& settings = now.emplace(name, plan::MatrixNow{before.settings, before.supplied})
                           .first->second.settings;
      if ((own & outputs) != 0) settings.outputs = after.settings.outputs;
      if ((own & inputs) != 0) settings.inputs = after.settings.inputs;
    }
    plan = plan::routed(task_.plan, now);
    return *plan;
  }

  const AmplifierKeys& keys_of(const plan::RackPlan& plan) {
    const auto found = keys_.find(&plan);
    return found != keys_.end() ? found->second
                                : keys_.emplace(&plan, AmplifierKeys{plan}).first->second;
  }

  // With the carriers of one end.
  void add_end(std::size_t index, const plan::RackPlan& plan, const plan::Node& at,
               const plan::Segment& segment, const std::optional<Settings>& settings,
               double Meeting::*end) {
    const auto met = amplifiers_met(plan, at);
    const auto all = loudness({plan, segment, at, nobody_}, met, settings);
    for (std::size_t k = 0; k < met.size(); ++k)
      meetings_[keys_of(plan).of(met[k], index)].*end += all[k];
  }

  // What one antenna brings to each amplifier that it meets, with these moved.
  using Brought = std::map<AmplifierKey, Powers>;

  Brought brought(std::size_t index, Moved moved) {
    const auto& node = nodes_[index];
    const auto& plan = plan_at(moved);
    const auto& at = plan.nodes[index];
    const bool late = ((moved >> own_level(node)) & inputs) != 0;
    const auto met = amplifiers_met(plan, at);
    const NodePhysics between{plan, between_[index], at, nobody_};
    std::vector<Loudness> moving(met.size());
    for (std::size_t window = 0; window < 2; ++window)
      for (std::size_t gain = 0; gain < 2; ++gain) {
        const auto all = loudness(between, met, settings_at(node, window == 1, gain == 1, late));
        for (std::size_t k = 0; k < met.size(); ++k) moving[k][window][gain] = all[k];
      }
    Brought powers;
    for (std::size_t k = 0; k < met.size(); ++k) {
      const auto key = keys_of(plan).of(met[k], index);
      auto& meeting = meetings_.try_emplace(key).first->second;
      meeting.amplifier = met[k];
      if (met[k].in_rack == nullptr) meeting.owner = node.node;
      const auto& p = moving[k];
      const bool constant = p[0][0] == p[0][1] && p[0][0] == p[1][0] && p[0][0] == p[1][1];
      auto& own = powers[key];
      if (node.mover && !constant) {
        own.nodes.push_back(*node.mover);
        own.loudness.push_back(p);
      } else {
        own.steady += p[0][0];
      }
    }
    return powers;
  }

  unsigned own_level(const NodeOnTheWay& node) const {
    return node.node->ends_at ? level_of(node.node->ends_at->matrix) : 0;
  }

  // Whether a matrix moves that the one at which its cable ends leads to.
  bool moves_behind(const plan::Node& node) const {
    const auto* matrix = node.ends_at ? task_.plan.find_matrix(node.ends_at->matrix) : nullptr;
    if (matrix == nullptr) return false;
    for (const auto& [output, onward] : matrix->onward)
      if (matrices_.contains(onward.to.matrix)) return true;
    return false;
  }

  // One antenna, in every state of the matrices that matter to it.
  struct States {
    std::array<Brought, 16> by;

    const Powers* find(Moved moved, const AmplifierKey& key) const {
      const auto found = by[moved].find(key);
      return found == by[moved].end() ? nullptr : &found->second;
    }
    const Powers& at(Moved moved, const AmplifierKey& key) const {
      static const Powers nothing;
      const auto* found = find(moved, key);
      return found == nullptr ? nothing : *found;
    }
    // Whatever has moved behind: an amplifier of its feed is met, or is not.
    const Powers& whatever_is_behind(Moved moved, const AmplifierKey& key) const {
      for (const auto more : {0U, outputs, inputs, outputs | inputs})
        if (const auto* found = find(moved | more << behind, key)) return *found;
      return at(moved, key);
    }
  };

  void add_powers(std::size_t index) {
    const auto& node = nodes_[index];
    Moved matter = node.matrix ? (outputs | inputs) << own_level(node) : 0;
    if (moves_behind(*node.node)) matter |= (outputs | inputs) << behind;
    States states;
    std::set<AmplifierKey> keys;
    for (Moved moved = 0; moved < states.by.size(); ++moved) {
      if ((moved & ~matter) != 0) continue;
      states.by[moved] = brought(index, moved);
      for (const auto& [key, powers] : states.by[moved]) keys.insert(key);
    }
    for (const auto& key : keys) {
      const auto* from = matrix_of(key);
      if (from != nullptr && node.node->ends_at && *from != node.node->ends_at->matrix)
        add_by_another(index, key, *from, states);
      else
        add_by_own(node, key, states);
    }
  }

  // At which the branch of this amplifier begins. Null: it is of no branch, or that begins at none.
  const plan::NodeName* matrix_of(const AmplifierKey& key) const {
    if (key.at != AmplifierKey::At::branch && key.at != AmplifierKey::At::arm) return nullptr;
    const auto& from = task_.plan.receivers[key.place].branches[key.branch].from;
    return from ? &from->matrix : nullptr;
  }

  // Its cable ends at the matrix that the branch begins at, or at none; or the amplifier is before.
  void add_by_own(const NodeOnTheWay& node, const AmplifierKey& key, const States& states) {
    auto& meeting = meetings_.at(key);
    const auto own = own_level(node);
    const auto at = [&](Moved moved) {
      return own == behind ? states.at(moved << own, key) : states.whatever_is_behind(moved, key);
    };
    if (!node.matrix) return add(meeting.powers, at(0));
    const auto by = [&](Moved routes) {
      return forked(*node.matrix, at(routes), at(routes | inputs));
    };
    if (key.at != AmplifierKey::At::branch)
      return add(meeting.powers, forked(*node.matrix, by(0), by(outputs)));
    meeting.matrix = node.matrix;
    add(meeting.by_old_routes.direct, by(0));
    add(meeting.by_new_routes.direct, by(outputs));
  }

  // It comes to the matrix that the branch begins at by an output of the one at which its cable
  // ends. Either may move.
  void add_by_another(std::size_t index, const AmplifierKey& key, const plan::NodeName& matrix,
                      const States& states) {
    const auto first = nodes_[index].matrix;
    const auto second = mover_of(matrix);
    const auto& name = nodes_[index].node->name;
    auto& meeting = meetings_.at(key);
    if (second) meeting.matrix = second;
    const auto with_trims_before = [&](Moved routes) {
      return first ? forked(*first, states.at(routes, key), states.at(routes | inputs, key))
                   : states.at(routes, key);
    };
    const auto with_trims = [&](Moved routes) {
      return second ? forked(*second, with_trims_before(routes),
                             with_trims_before(routes | inputs << behind))
                    : with_trims_before(routes);
    };
    for (const Moved later : {0U, outputs}) {
      if (later != 0 && !second) break;
      auto& routes = later == 0 ? meeting.by_old_routes : meeting.by_new_routes;
      for (const Moved before : {0U, outputs}) {
        if (before != 0 && !first) break;
        const auto moved = before | later << behind;
        const auto& branch = plan_at(moved).receivers[key.place].branches[key.branch];
        if (!branch.has(name)) continue;
        const auto& by = branch.arm_of(name).by;
        if (!first || !by) {
          add(routes.direct, with_trims(moved));
          continue;
        }
        auto& output = routes.before[*by];
        output.matrix = *first;
        add(before == 0 ? output.by_old_routes : output.by_new_routes, with_trims(moved));
      }
    }
  }

  const SwitchTask& task_;
  const plan::RackPlan& then_;
  const std::vector<NodeOnTheWay>& nodes_;
  const Reach::MovingMatrices& matrices_;
  const std::vector<plan::Segment>& between_;
  const SettingsOf nobody_ = [](const plan::NodeName&) { return std::nullopt; };
  std::set<plan::NodeName> behind_;  // matrices that another one ends at
  Moved moving_ = 0;                 // what there is of it
  std::array<std::shared_ptr<const plan::RackPlan>, 16> plans_;
  std::unordered_map<const plan::RackPlan*, AmplifierKeys> keys_;
  Meetings meetings_;
};

}  // namespace

Meetings powers_met(const SwitchTask& task, const plan::RackPlan& then,
                    const std::vector<NodeOnTheWay>& nodes, const Reach::MovingMatrices& matrices,
                    const std::vector<plan::Segment>& between) {
  return PowersMet{task, then, nodes, matrices, between}.find();
}

}  // namespace catwalk::rack
