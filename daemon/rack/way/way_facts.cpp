// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/way_facts.hpp"

#include <algorithm>
#include <map>
#include <unordered_map>
#include <utility>

#include "daemon/plan/device.hpp"
#include "daemon/plan/routed.hpp"
#include "daemon/rack/rules/supply_rules.hpp"
#include "daemon/rack/values/wording.hpp"
#include "daemon/rack/way/node_on_the_way.hpp"
#include "daemon/rack/way/powers_met.hpp"
#include "daemon/rack/way/reach.hpp"

namespace catwalk::rack {
namespace {

using plan::Settings;

// 0.01 dB, the smallest unit in which anything is set: what is louder by less is not worse. It also
// takes up that sums of the same powers in another order differ by rounding.
constexpr double no_worse = 1.0023;

bool same_window(const Settings& a, const Settings& b) {
  return a.filter == b.filter && a.centre == b.centre && a.power == b.power;
}

Split split_of(const NodeOnTheWay& node) {
  if (!node.mover || !node.present) return Split::never;
  if (same_window(*node.present, *node.target) || node.present->gain == node.target->gain)
    return Split::never;
  return node.target->gain < node.present->gain ? Split::gain_first : Split::window_first;
}

class Collector {
 public:
  explicit Collector(const SwitchTask& task) : task_{task} {
    facts_.live =
        task.back ? live_between(task.entered, task.left) : live_between(task.left, task.entered);
    // The way back has the same carriers, but comes from the other end.
    if (task.back)
      for (auto& live : facts_.live) std::swap(live.left, live.entered);
    list_nodes();
    list_matrices();
    facts_.between.reserve(nodes_.size());
    for (const auto& node : nodes_)
      facts_.between.push_back(
          segment_between(task.plan, task.left, task.entered, facts_.live, *node.node));
  }

  WayFacts collect() {
    collect_heard();
    collect_windows();
    for (std::size_t i = 0; i < nodes_.size(); ++i)
      if (nodes_[i].mover)
        weigh_unknown_levels(nodes_[i], {task_.plan, facts_.between[i], *nodes_[i].node, nobody_});
    for (const auto& [key, meeting] : powers_met(task_, then(), nodes_, matrices_, facts_.between))
      weigh(meeting);
    return std::move(facts_);
  }

 private:
  std::size_t add_mover(Mover mover, bool is_matrix) {
    facts_.movers.push_back(std::move(mover));
    facts_.problem.nodes.emplace_back().matrix = is_matrix;
    return facts_.movers.size() - 1;
  }

  void list_nodes() {
    for (const auto& node : task_.nodes) ends_.emplace(node.node, &node);
    for (const auto& node : task_.plan.nodes) {
      NodeOnTheWay facts{
          .node = &node, .then = &node, .present = {}, .target = {}, .mover = {}, .matrix = {}};
      if (const auto found = ends_.find(node.name); found != ends_.end()) {
        facts.present = plan::amplifier_of(found->second->present);
        facts.target =
            found->second->target ? plan::amplifier_of(found->second->target) : facts.present;
      }
      if (facts.target && facts.present != facts.target)
        facts.mover = add_mover({node.name, facts.present, *facts.target}, false);
      nodes_.push_back(std::move(facts));
    }
  }

  // Those that move, and what becomes of the antennas at them.
  void list_matrices() {
    plan::MatricesNow moved;
    for (const auto& matrix : task_.plan.matrices) {
      const auto found = ends_.find(matrix.name);
      if (found == ends_.end() || !found->second->present || !found->second->target) continue;
      const auto& target = *found->second->target;
      if (target.matrix() == nullptr || target == *found->second->present) continue;
      moved.emplace(matrix.name, plan::MatrixNow{*target.matrix(), matrix.supplied});
      matrices_.emplace(matrix.name,
                        add_mover({matrix.name, found->second->present, target}, true));
    }
    if (moved.empty()) return;
    facts_.then = plan::routed(task_.plan, moved);
    for (std::size_t i = 0; i < nodes_.size(); ++i) {
      auto& node = nodes_[i];
      node.then = &facts_.then->nodes[i];
      const bool fed = is_supplied(task_.plan, *node.node);
      // One that runs though its input feeds nothing lives on something else.
      const bool runs = node.present && node.present->power;
      node.fed_before = fed || runs;
      node.fed_after = is_supplied(*facts_.then, *node.then) || (!fed && runs);
      if (!node.node->ends_at) continue;
      if (const auto at = matrices_.find(node.node->ends_at->matrix); at != matrices_.end())
        node.matrix = at->second;
    }
  }

  const plan::RackPlan& then() const { return facts_.then ? *facts_.then : task_.plan; }

  // (a)
  void collect_heard() {
    const Reach reach{task_.plan, then(), nodes_, matrices_};
    for (std::size_t place = 0; place < task_.plan.receivers.size(); ++place) {
      const auto& receiver = task_.plan.receivers[place];
      std::map<Paths, std::vector<std::size_t>> carriers;
      for (std::size_t i = 0; i < facts_.live.size(); ++i) {
        const auto& live = facts_.live[i];
        if (!live.stays() || live.any().use != plan::CarrierUse::receive) continue;
        const auto due = live.receivers();
        if (std::ranges::find(due, receiver.name) == due.end()) continue;
        carriers[reach.to(place, live.band())].push_back(i);
      }
      for (auto& [paths, which] : carriers)
        if (auto heard = heard_by(paths, static_cast<int>(which.size()))) {
          facts_.problem.heard.push_back(std::move(*heard));
          facts_.heard.push_back({&receiver, std::move(which)});
        }
    }
  }

  // (b), windows: of what is in no end, and of levels that are not known.
  void collect_windows() {
    for (std::size_t i = 0; i < nodes_.size(); ++i) {
      const auto& node = nodes_[i];
      for (const auto& live : facts_.live) {
        if (live.any().use != plan::CarrierUse::transmit) continue;
        const auto band = live.band();
        const bool before = node.perhaps_passes(node.first(), band);
        const bool after = node.perhaps_passes(node.last(), band);
        const bool at_an_end =
            (live.left != nullptr && before) || (live.entered != nullptr && after);
        if ((before || after) && !at_an_end) let_in(node, live, before);
        if (node.mover && after && !before && live.entered == nullptr)
          facts_.problem.nodes[*node.mover].late = true;
      }
    }
  }

  void let_in(const NodeOnTheWay& node, const LiveCarrier& live, bool before) {
    const auto& carrier = live.any();
    const auto settings = before ? node.first() : node.last();
    const auto* filter = node.filter(settings);
    const auto passed = filter->perhaps_passed(settings->centre);
    Finding finding{Rule::own_transmitter_in_window,
                    Severity::caution,
                    node.node->name,
                    {carrier.name.text},
                    {{"carrier", carrier.frequency.megahertz(), "MHz"}},
                    "Our own " + carrier.name.text + " at " + in_words(carrier.frequency) +
                        (before ? " is on already" : " is still on") +
                        " during the switch, and the " + (before ? "old" : "new") +
                        " settings let it in: "};
    if (settings->power) {
      finding.numbers.push_back({"window low", passed.low.megahertz(), "MHz"});
      finding.numbers.push_back({"window high", passed.high.megahertz(), "MHz"});
      finding.sentence += "with its skirts the window passes " + in_words(passed) + ".";
    } else {
      finding.sentence += "the power is off, and there is no filter.";
    }
    facts_.unavoidable.push_back(std::move(finding));
  }

  // (c), where no number says how strong a transmitter is.
  void weigh_unknown_levels(const NodeOnTheWay& node, const NodePhysics& physics) {
    const auto split = split_of(node);
    if (split == Split::never) return;
    for (const auto& arriving : physics.carriers()) {
      const auto& carrier = *arriving.carrier;
      if (carrier.use != plan::CarrierUse::transmit || arriving.strongest) continue;
      const bool before = node.lets_in(node.present, carrier.band());
      const bool after = node.lets_in(node.target, carrier.band());
      if (split == Split::gain_first ? after && !before : before && !after)
        must_split(*node.mover, split);
    }
  }

  void must_split(std::size_t mover, Split split) {
    facts_.problem.nodes[mover].split = split;
    facts_.problem.nodes[mover].must_split = true;
  }

  Split split_of_mover(std::size_t mover) const {
    const auto node = std::ranges::find(nodes_, std::optional{mover}, &NodeOnTheWay::mover);
    return node == nodes_.end() ? Split::never : split_of(*node);  // a matrix
  }

  // (b), amplifiers: makes the constraint, or what it comes to for one node alone.
  void weigh(const Meeting& meeting) {
    const double limit = meeting.amplifier.p1db * (-task_.plan.limits.compression_margin).ratio();
    const WayFacts::Amplifier about{meeting.amplifier.name, meeting.amplifier.p1db, limit};
    double caution = std::max({limit, meeting.start, meeting.end}) * no_worse;
    const double old_sum = before_all(meeting.powers);
    const double new_sum = after_all(meeting.powers);
    if (const double most = std::max(old_sum, new_sum); most > caution) {
      const double p1db = std::max(about.p1db, caution);
      facts_.unavoidable.push_back(overload_on_the_way(
          about, meeting.owner != nullptr ? meeting.owner->name : plan::NodeName{}, most,
          most > p1db ? Severity::refuse : Severity::caution,
          old_sum >= new_sum ? "Before anything moves, with what is on during the switch"
                             : "When all has moved, with what is on during the switch"));
      caution = most * no_worse;
    }
    if (most_of(meeting.powers) <= caution) return;
    const auto movers = movers_of(meeting.powers);
    if (movers.size() == 1 && !facts_.problem.nodes[movers.front()].matrix) {
      // Both ends are within the limit, so it is what lies between them.
      must_split(movers.front(), split_of_mover(movers.front()));
      return;
    }
    SharedAmplifier shared;
    static_cast<Powers&>(shared) = meeting.powers;
    for (const auto mover : movers) {
      auto& node = facts_.problem.nodes[mover];
      if (!node.matrix) node.split = split_of_mover(mover);
    }
    shared.caution = caution;
    shared.refuse = std::max(about.p1db, caution);
    facts_.problem.amplifiers.push_back(std::move(shared));
    facts_.amplifiers.push_back(about);
  }

  const SwitchTask& task_;
  const SettingsOf nobody_ = [](const plan::NodeName&) { return std::nullopt; };
  WayFacts facts_;
  std::unordered_map<plan::NodeName, const NodeEnds*> ends_;
  std::vector<NodeOnTheWay> nodes_;                 // in the order of the plan
  std::map<plan::NodeName, std::size_t> matrices_;  // numbers of those that move
};

}  // namespace

plan::NodeSettings Mover::at(bool new_window, bool new_gain) const {
  const auto* after = target.amplifier();
  const auto before = plan::amplifier_of(present);
  if (after == nullptr) return new_window || new_gain || !present ? target : *present;
  auto settings = new_window || !before ? *after : *before;
  settings.gain = new_gain || !before ? after->gain : before->gain;
  return settings;
}

WayFacts facts_of(const SwitchTask& task) { return Collector{task}.collect(); }

Finding overload_on_the_way(const WayFacts::Amplifier& amplifier, const plan::NodeName& node,
                            double power, Severity severity, const std::string& when) {
  const auto past = rf::Decibel::from_ratio(power / amplifier.p1db);
  const auto wanted = rf::Decibel::from_ratio(amplifier.p1db / amplifier.limit);
  return {
      Rule::amplifier_overload,
      severity,
      node,
      {amplifier.name},
      {{"margin", (-past).value(), "dB"}, {"margin wanted", wanted.value(), "dB"}},
      when + " all carriers together may come " +
          (past > rf::Decibel{} ? in_words(past) + " past" : "to " + in_words(-past) + " below") +
          " the 1 dB compression point of the amplifier of " + amplifier.name + "."};
}

}  // namespace catwalk::rack
