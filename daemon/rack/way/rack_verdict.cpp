// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/rack_verdict.hpp"

#include <algorithm>
#include <memory>
#include <optional>
#include <set>
#include <unordered_map>
#include <vector>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/rules/carrier_rules.hpp"
#include "daemon/rack/rules/matrix_rules.hpp"
#include "daemon/rack/rules/supply_rules.hpp"

namespace catwalk::rack {
namespace {

using Physics = std::shared_ptr<KnownPhysics>;

// How the rack is at one moment of the way.
class Standing {
 public:
  explicit Standing(const SwitchTask& task)
      : plan_{std::shared_ptr<const plan::RackPlan>{}, &task.plan} {
    for (const auto& ends : task.nodes) {
      if (!ends.present) continue;
      const auto* node = plan_->find(ends.node);
      const auto own = plan::amplifier_of(ends.present);
      if (node != nullptr && own && !own->power && !is_supplied(*plan_, *node))
        unfed_.insert(ends.node);
      take(ends.node, *ends.present);
    }
  }

  // `moves`: all of one step.
  void move(const std::vector<Move>& moves) {
    plan::MatricesNow matrices;
    for (const auto& move : moves)
      if (const auto* matrix = move.to.matrix())
        matrices.emplace(move.node, plan::MatrixNow{*matrix, true});
    if (!matrices.empty()) route(matrices);
    for (const auto& move : moves) take(move.node, move.to);
  }

  const plan::RackPlan& plan() const { return *plan_; }
  const Physics& physics() const { return physics_; }
  std::optional<plan::Settings> of(const plan::NodeName& name) const {
    const auto found = known_.find(name);
    return found == known_.end() ? std::nullopt : std::optional{found->second};
  }

 private:
  // Without supply an antenna is passive, whatever it is set to.
  void take(const plan::NodeName& name, const plan::NodeSettings& settings) {
    const auto* own = settings.amplifier();
    if (own == nullptr) return;
    known_.insert_or_assign(name, *own);
    const auto* node = plan_->find(name);
    if (node != nullptr && unfed_.contains(name) && !is_supplied(*plan_, *node))
      known_.at(name).power = false;
  }

  // Those that get their supply back run, those that lose it are passive.
  void route(const plan::MatricesNow& matrices) {
    const auto before = plan_;
    plan_ = plan::routed(*before, matrices);
    physics_ = std::make_shared<KnownPhysics>();
    for (auto& [name, settings] : known_) {
      const auto* was = before->find(name);
      const auto* is = plan_->find(name);
      if (was == nullptr || is == nullptr) continue;
      const bool fed = is_supplied(*plan_, *is);
      if (is_supplied(*before, *was) == fed) continue;
      settings.power = fed;
      if (fed)
        unfed_.erase(name);
      else
        unfed_.insert(name);
    }
  }

  std::shared_ptr<const plan::RackPlan> plan_;
  std::unordered_map<plan::NodeName, plan::Settings> known_;
  std::set<plan::NodeName> unfed_;  // and live on their cable
  Physics physics_ = std::make_shared<KnownPhysics>();
};

Verdict verdict_of(const Standing& rack, const plan::Segment& segment, const plan::Node& node) {
  const auto possible = [&rack](const plan::NodeName& name) {
    const auto settings = rack.of(name);
    return settings ? PossibleSettings{*settings} : PossibleSettings{};
  };
  const auto own = rack.of(node.name);
  return own ? check({rack.plan(), segment, possible, false, rack.physics()}, node, *own)
             : Verdict{};
}

// Of a matrix as it is set: what the nodes do not tell.
Verdict verdict_of(const Standing& rack, const plan::Segment& segment, const plan::Matrix& matrix) {
  const auto possible = [&rack](const plan::NodeName& name) {
    const auto settings = rack.of(name);
    return settings ? PossibleSettings{*settings} : PossibleSettings{};
  };
  return check({rack.plan(), segment, possible, false, rack.physics()}, matrix, matrix.settings);
}

// A receiver that is dark is said to be so by each of its nodes; once is enough.
void append(std::vector<Finding>& all, std::vector<Finding> more) {
  for (auto& finding : more) {
    const bool told =
        finding.rule == Rule::diversity_dark && std::ranges::any_of(all, [&](const Finding& other) {
          return other.rule == finding.rule && other.concerns == finding.concerns;
        });
    if (!told) all.push_back(std::move(finding));
  }
}

Verdict verdict_of_end(const plan::Segment& segment, const Standing& rack) {
  Verdict whole{rack::check_carriers(rack.plan(), segment)};
  for (const auto& node : rack.plan().nodes)
    append(whole.findings, verdict_of(rack, segment, node).findings);
  for (const auto& matrix : rack.plan().matrices)
    append(whole.findings, verdict_of(rack, segment, matrix).findings);
  return whole;
}

void as_between(Verdict& verdict) {
  const auto between = [](const Finding& finding) { return row_of(finding.rule).between; };
  std::erase_if(verdict.findings,
                [&](const Finding& finding) { return between(finding) == Between::nothing; });
  for (auto& finding : verdict.findings) {
    if (between(finding) == Between::note) finding.severity = Severity::note;
    if (between(finding) == Between::caution) finding.severity = Severity::caution;
  }
}

// Nodes whose verdict is another when `moved` has other settings: itself, and whoever shares a
// receiver with it; all of them when a matrix has moved.
std::vector<bool> touched_by(const plan::RackPlan& plan, const std::vector<Move>& moves) {
  const bool routes =
      std::ranges::any_of(moves, [](const Move& move) { return move.to.matrix() != nullptr; });
  std::vector<bool> touched(plan.nodes.size(), routes);
  const auto moved = [&](const plan::NodeName& name) {
    return std::ranges::find(moves, name, &Move::node) != moves.end();
  };
  for (std::size_t i = 0; i < plan.nodes.size(); ++i)
    touched[i] = touched[i] || moved(plan.nodes[i].name);
  for (const auto& receiver : plan.receivers) {
    bool any = false;
    for (const auto& branch : receiver.branches)
      any = any || std::ranges::any_of(branch.nodes, moved);
    if (!any) continue;
    for (std::size_t i = 0; i < plan.nodes.size(); ++i)
      touched[i] = touched[i] || plan::RackPlan::serves(receiver, plan.nodes[i].name);
  }
  return touched;
}

}  // namespace

void add_end_verdict(const SwitchTask& task, Way& way) {
  Standing rack{task};
  for (const auto& step : way.steps) rack.move(step.moves);
  way.end = verdict_of_end(task.entered, rack);
}

void add_verdicts(const SwitchTask& task, const WayFacts& facts, Way& way) {
  Standing rack{task};
  way.before = verdict_of_end(task.left, rack);
  const auto count = task.plan.nodes.size();
  std::vector<Verdict> each(count);
  std::vector<bool> fresh(count, false);
  for (std::size_t number = 0; number < way.steps.size(); ++number) {
    auto& step = way.steps[number];
    rack.move(step.moves);
    if (number + 1 == way.steps.size()) break;
    const auto touched = touched_by(rack.plan(), step.moves);
    for (std::size_t i = 0; i < count; ++i) {
      if (!touched[i] && fresh[i]) continue;
      each[i] = verdict_of(rack, facts.between[i], rack.plan().nodes[i]);
      as_between(each[i]);
      fresh[i] = true;
    }
    for (const auto& verdict : each) append(step.after.findings, verdict.findings);
  }
  way.end = verdict_of_end(task.entered, rack);
  if (!way.steps.empty()) way.steps.back().after = way.end;
}

}  // namespace catwalk::rack
