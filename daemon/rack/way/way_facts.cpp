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
#include "daemon/rack/way/meetings.hpp"
#include "daemon/rack/way/node_on_the_way.hpp"
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
    for (std::size_t i = 0; i < nodes_.size(); ++i) collect_loudness(i);
    for (auto& [key, meeting] : meetings_) weigh(whole(meeting));
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
    auto rerouted = moved;
    for (auto& [name, now] : rerouted)
      now.settings.inputs = task_.plan.find_matrix(name)->settings.inputs;
    rerouted_ = plan::routed(task_.plan, rerouted);
    for (auto& [name, now] : moved)
      now.settings.outputs = task_.plan.find_matrix(name)->settings.outputs;
    refed_ = plan::routed(task_.plan, moved);
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

  // What one antenna brings to each amplifier that it meets by this plan, with this supply.
  using Brought = std::map<AmplifierKey, Powers>;

  Brought brought(std::size_t index, const plan::RackPlan& plan, const plan::Node& at, bool late) {
    const auto& node = nodes_[index];
    const auto met = amplifiers_met(plan, at);
    const NodePhysics between{plan, facts_.between[index], at, nobody_};
    std::vector<Loudness> moving(met.size());
    for (std::size_t window = 0; window < 2; ++window)
      for (std::size_t gain = 0; gain < 2; ++gain) {
        const auto all = loudness(between, met, settings_at(node, window == 1, gain == 1, late));
        for (std::size_t k = 0; k < met.size(); ++k) moving[k][window][gain] = all[k];
      }
    Brought powers;
    const auto& keys = keys_of(plan);
    for (std::size_t k = 0; k < met.size(); ++k) {
      const auto key = keys.of(met[k], index);
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
    if (node.mover && !late && &plan == &task_.plan) weigh_unknown_levels(node, between);
    return powers;
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

  void collect_loudness(std::size_t index) {
    const auto& node = nodes_[index];
    add_end(index, task_.plan, *node.node, task_.left, node.first(), &Meeting::start);
    add_end(index, then(), *node.then, task_.entered, node.last(), &Meeting::end);
    auto now = brought(index, task_.plan, *node.node, false);
    if (!node.matrix) {
      for (auto& [key, powers] : now) add(meetings_.at(key).powers, std::move(powers));
      return;
    }
    // In flight its output and its input, trim and supply, settle in their own time.
    const auto matrix = *node.matrix;
    auto now_late = brought(index, *refed_, refed_->nodes[index], true);
    auto later = brought(index, *rerouted_, rerouted_->nodes[index], false);
    auto later_late = brought(index, then(), *node.then, true);
    for (const auto& [key, powers] : later) now.try_emplace(key);
    for (auto& [key, powers] : now)
      add_switched(meetings_.at(key), key, matrix, forked(matrix, powers, now_late[key]),
                   forked(matrix, later[key], later_late[key]));
  }

  std::optional<Settings> settings_at(const NodeOnTheWay& node, bool window, bool gain,
                                      bool late) const {
    auto before = node.old_settings(late);
    if (!node.mover) return before;
    const auto after = node.new_settings(late);
    if (!before) return window ? after : std::nullopt;
    auto settings = window ? *after : *before;
    settings.gain = gain ? after->gain : before->gain;
    return settings;
  }

  const AmplifierKeys& keys_of(const plan::RackPlan& plan) {
    const auto found = keys_.find(&plan);
    return found != keys_.end() ? found->second
                                : keys_.emplace(&plan, AmplifierKeys{plan}).first->second;
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
  std::shared_ptr<const plan::RackPlan> rerouted_;  // the outputs alone have moved
  std::shared_ptr<const plan::RackPlan> refed_;     // the inputs alone
  Meetings meetings_;
  std::unordered_map<const plan::RackPlan*, AmplifierKeys> keys_;
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
