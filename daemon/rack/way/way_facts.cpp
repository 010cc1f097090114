// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/way_facts.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <unordered_map>
#include <utility>

#include "daemon/rack/values/wording.hpp"
#include "daemon/rack/way/loudness.hpp"

namespace catwalk::rack {
namespace {

using plan::Settings;

// 0.01 dB, the smallest unit in which anything is set: what is louder by less is not worse. It also
// takes up that sums of the same powers in another order differ by rounding.
constexpr double no_worse = 1.0023;

struct NodeFacts {
  const plan::Node* node = nullptr;
  std::optional<Settings> present;
  std::optional<Settings> target;    // as present, if it stays
  std::optional<std::size_t> mover;  // number in WayFacts::movers

  // Null: not known, or beyond what its datasheet reaches, and nothing is counted on.
  const plan::Filter* filter(const std::optional<Settings>& settings) const {
    const auto& sheet = *node->datasheet;
    const bool known =
        settings && settings->filter < sheet.filters.size() && sheet.reaches(*settings);
    return known ? &sheet.filters[settings->filter] : nullptr;
  }
  bool surely_passes(const std::optional<Settings>& settings, const rf::Band& band) const {
    const auto* choice = filter(settings);
    if (choice == nullptr) return false;
    return !settings->power || choice->surely_passed(settings->centre).contains(band);
  }
  // With its amplifier running.
  bool lets_in(const std::optional<Settings>& settings, const rf::Band& band) const {
    const auto* choice = filter(settings);
    return choice != nullptr && settings->power &&
           choice->perhaps_passed(settings->centre).overlaps(band);
  }
  bool perhaps_passes(const std::optional<Settings>& settings, const rf::Band& band) const {
    return (filter(settings) != nullptr && !settings->power) || lets_in(settings, band);
  }
};

bool same_window(const Settings& a, const Settings& b) {
  return a.filter == b.filter && a.centre == b.centre && a.power == b.power;
}

Split split_of(const NodeFacts& facts) {
  if (!facts.present) return Split::never;
  if (same_window(*facts.present, *facts.target) || facts.present->gain == facts.target->gain)
    return Split::never;
  return facts.target->gain < facts.present->gain ? Split::gain_first : Split::window_first;
}

// One amplifier and all that meets in it.
struct Meeting {
  AmplifierOnTheWay amplifier;
  const plan::Node* owner = nullptr;  // null: it is the rack's
  double start = 0.0;                 // with the carriers of each end, mW
  double end = 0.0;
  double unmoved = 0.0;  // of nodes that stay
  std::vector<std::pair<std::size_t, Loudness>> movers;

  double sum(std::size_t window, std::size_t gain) const {
    double all = unmoved;
    for (const auto& [mover, loudness] : movers) all += loudness[window][gain];
    return all;
  }
};

class Collector {
 public:
  explicit Collector(const SwitchTask& task) : task_{task} {
    facts_.live =
        task.back ? live_between(task.entered, task.left) : live_between(task.left, task.entered);
    // The way back has the same carriers, but comes from the other end.
    if (task.back)
      for (auto& live : facts_.live) std::swap(live.left, live.entered);
    list_nodes();
    facts_.between.reserve(nodes_.size());
    for (const auto& node : nodes_)
      facts_.between.push_back(
          segment_between(task.plan, task.left, task.entered, facts_.live, *node.node));
  }

  WayFacts collect() {
    facts_.problem.nodes.resize(facts_.movers.size());
    collect_heard();
    collect_windows();
    for (std::size_t i = 0; i < nodes_.size(); ++i) collect_loudness(i);
    for (const auto& meeting : own_) weigh(meeting);
    for (const auto& meeting : shared_) weigh(meeting);
    return std::move(facts_);
  }

 private:
  void list_nodes() {
    std::unordered_map<plan::NodeName, const NodeEnds*> ends;
    for (const auto& node : task_.nodes) ends.emplace(node.node, &node);
    for (const auto& node : task_.plan.nodes) {
      NodeFacts facts{&node, {}, {}, {}};
      if (const auto found = ends.find(node.name); found != ends.end()) {
        facts.present = plan::amplifier_of(found->second->present);
        facts.target = found->second->target ? plan::amplifier_of(found->second->target) : facts.present;
      }
      if (facts.target && facts.present != facts.target) {
        facts.mover = facts_.movers.size();
        facts_.movers.push_back({&node, facts.present, *facts.target});
      }
      by_name_.emplace(node.name, nodes_.size());
      nodes_.push_back(std::move(facts));
    }
  }

  // (a)
  void collect_heard() {
    for (const auto& receiver : task_.plan.receivers) {
      std::set<std::size_t> on_it;
      for (const auto& branch : receiver.branches)
        for (const auto& name : branch.nodes)
          if (const auto found = by_name_.find(name); found != by_name_.end())
            on_it.insert(found->second);
      using Nodes = std::vector<std::size_t>;
      std::map<std::pair<Nodes, Nodes>, std::vector<std::size_t>> carriers;
      for (std::size_t i = 0; i < facts_.live.size(); ++i) {
        const auto& live = facts_.live[i];
        if (!live.stays() || live.any().use != plan::CarrierUse::receive) continue;
        const auto due = live.receivers();
        if (std::ranges::find(due, receiver.name) == due.end()) continue;
        Nodes gainers;
        Nodes losers;
        bool always = false;
        for (const auto index : on_it) {
          const auto& node = nodes_[index];
          const bool before = node.surely_passes(node.present, live.band());
          const bool after = node.surely_passes(node.target, live.band());
          always = always || (before && after);
          if (before && !after) losers.push_back(*node.mover);
          if (after && !before) gainers.push_back(*node.mover);
        }
        // Dark at an end: the way is no worse.
        if (!always && !gainers.empty() && !losers.empty())
          carriers[{gainers, losers}].push_back(i);
      }
      for (auto& [nodes, which] : carriers) {
        facts_.problem.heard.push_back({nodes.first, nodes.second, static_cast<int>(which.size())});
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
        const bool before = node.perhaps_passes(node.present, band);
        const bool after = node.perhaps_passes(node.target, band);
        const bool at_an_end =
            (live.left != nullptr && before) || (live.entered != nullptr && after);
        if ((before || after) && !at_an_end) let_in(node, live, before);
        if (node.mover && after && !before && live.entered == nullptr)
          facts_.problem.nodes[*node.mover].late = true;
      }
    }
  }

  void let_in(const NodeFacts& node, const LiveCarrier& live, bool before) {
    const auto& carrier = live.any();
    const auto& settings = before ? node.present : node.target;
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

  void collect_loudness(std::size_t index) {
    const auto& node = nodes_[index];
    const auto met = amplifiers_met(task_.plan, *node.node);
    const SettingsOf nobody = [](const plan::NodeName&) { return std::nullopt; };
    const auto in = [&](const plan::Segment& segment, const std::optional<Settings>& settings) {
      return loudness({task_.plan, segment, *node.node, nobody}, met, settings);
    };
    const auto start = in(task_.left, node.present);
    const auto end = in(task_.entered, node.target);
    const NodePhysics between{task_.plan, facts_.between[index], *node.node, nobody};
    std::vector<Loudness> moving(met.size());
    for (std::size_t window = 0; window < 2; ++window)
      for (std::size_t gain = 0; gain < 2; ++gain) {
        const auto all = loudness(between, met, settings_at(node, window == 1, gain == 1));
        for (std::size_t k = 0; k < met.size(); ++k) moving[k][window][gain] = all[k];
      }
    for (std::size_t k = 0; k < met.size(); ++k) {
      auto& meeting = meeting_at(met[k], *node.node);
      meeting.start += start[k];
      meeting.end += end[k];
      const auto& p = moving[k];
      const bool constant = p[0][0] == p[0][1] && p[0][0] == p[1][0] && p[0][0] == p[1][1];
      if (node.mover && !constant)
        meeting.movers.emplace_back(*node.mover, p);
      else
        meeting.unmoved += p[0][0];
    }
    if (node.mover) weigh_unknown_levels(node, between);
  }

  std::optional<Settings> settings_at(const NodeFacts& node, bool window, bool gain) const {
    if (!node.mover) return node.present;
    if (!node.present) return window ? node.target : std::nullopt;
    return facts_.movers[*node.mover].at(window, gain);
  }

  Meeting& meeting_at(const AmplifierOnTheWay& amplifier, const plan::Node& node) {
    if (amplifier.in_rack == nullptr) {
      own_.push_back({amplifier, &node, 0.0, 0.0, 0.0, {}});
      return own_.back();
    }
    const auto [place, fresh] = shared_at_.emplace(amplifier.in_rack, shared_.size());
    if (fresh) shared_.push_back({amplifier, nullptr, 0.0, 0.0, 0.0, {}});
    return shared_[place->second];
  }

  // (c), where no number says how strong a transmitter is.
  void weigh_unknown_levels(const NodeFacts& node, const NodePhysics& physics) {
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
    return split_of(nodes_[by_name_.at(facts_.movers[mover].node->name)]);
  }

  // (b), amplifiers: makes the constraint, or what it comes to for one node alone.
  void weigh(const Meeting& meeting) {
    const double limit = meeting.amplifier.p1db * (-task_.plan.limits.compression_margin).ratio();
    const WayFacts::Amplifier about{meeting.amplifier.name, meeting.amplifier.p1db, limit,
                                    meeting.unmoved};
    double caution = std::max({limit, meeting.start, meeting.end}) * no_worse;
    const double old_sum = meeting.sum(0, 0);
    const double new_sum = meeting.sum(1, 1);
    if (const double most = std::max(old_sum, new_sum); most > caution) {
      const double p1db = std::max(about.p1db, caution);
      facts_.unavoidable.push_back(overload_on_the_way(
          about, meeting.owner != nullptr ? meeting.owner->name : plan::NodeName{}, most,
          most > p1db ? Severity::refuse : Severity::caution,
          old_sum >= new_sum ? "Before anything moves, with what is on during the switch"
                             : "When all has moved, with what is on during the switch"));
      caution = most * no_worse;
    }
    double worst = meeting.unmoved;
    for (const auto& [mover, p] : meeting.movers)
      worst += std::max({p[0][0], p[0][1], p[1][0], p[1][1]});
    if (worst <= caution) return;
    if (meeting.movers.size() == 1) {
      // Both ends are within the limit, so it is what lies between them.
      const auto mover = meeting.movers.front().first;
      must_split(mover, split_of_mover(mover));
      return;
    }
    SharedAmplifier shared;
    for (const auto& [mover, p] : meeting.movers) {
      shared.nodes.push_back(mover);
      shared.loudness.push_back(p);
      facts_.problem.nodes[mover].split = split_of_mover(mover);
    }
    shared.caution = caution - meeting.unmoved;
    shared.refuse = std::max(about.p1db, caution) - meeting.unmoved;
    facts_.problem.amplifiers.push_back(std::move(shared));
    facts_.amplifiers.push_back(about);
  }

  const SwitchTask& task_;
  WayFacts facts_;
  std::vector<NodeFacts> nodes_;  // in the order of the plan
  std::unordered_map<plan::NodeName, std::size_t> by_name_;
  std::vector<Meeting> own_;
  std::vector<Meeting> shared_;
  std::unordered_map<const plan::RackAmplifier*, std::size_t> shared_at_;
};

}  // namespace

Settings Mover::at(bool new_window, bool new_gain) const {
  auto settings = new_window ? target : *present;
  settings.gain = new_gain ? target.gain : present ? present->gain : target.gain;
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
