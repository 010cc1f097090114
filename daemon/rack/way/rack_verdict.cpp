// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/rack_verdict.hpp"

#include <algorithm>
#include <functional>
#include <memory>
#include <unordered_map>
#include <vector>

#include "daemon/rack/rules/carrier_rules.hpp"
#include "daemon/rack/rules/rules.hpp"

namespace catwalk::rack {
namespace {

using Known = std::unordered_map<plan::NodeName, plan::Settings>;

using Physics = std::shared_ptr<KnownPhysics>;

Verdict verdict_of(const plan::RackPlan& plan, const plan::Segment& segment, const plan::Node& node,
                   const Known& known, const Physics& physics) {
  const auto possible = [&known](const plan::NodeName& name) {
    const auto found = known.find(name);
    return found == known.end() ? PossibleSettings{} : PossibleSettings{found->second};
  };
  const auto own = known.find(node.name);
  return own == known.end() ? Verdict{}
                            : check({plan, segment, possible, false, physics}, node, own->second);
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

Verdict verdict_of_end(const plan::RackPlan& plan, const plan::Segment& segment,
                       const Known& known) {
  const auto physics = std::make_shared<KnownPhysics>();
  Verdict whole{rack::check_carriers(plan, segment)};
  for (const auto& node : plan.nodes)
    append(whole.findings, verdict_of(plan, segment, node, known, physics).findings);
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
// receiver with it.
std::vector<bool> touched_by(const plan::RackPlan& plan, const std::vector<Move>& moves) {
  std::vector<bool> touched(plan.nodes.size(), false);
  const auto moved = [&](const plan::NodeName& name) {
    return std::ranges::find(moves, name, &Move::node) != moves.end();
  };
  for (std::size_t i = 0; i < plan.nodes.size(); ++i) touched[i] = moved(plan.nodes[i].name);
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

void take(const std::vector<Move>& moves, Known& known) {
  for (const auto& move : moves)
    if (const auto* settings = move.to.amplifier()) known.insert_or_assign(move.node, *settings);
}

Known present_of(const SwitchTask& task) {
  Known known;
  for (const auto& node : task.nodes)
    if (node.present && node.present->amplifier() != nullptr)
      known.emplace(node.node, *node.present->amplifier());
  return known;
}

}  // namespace

void add_end_verdict(const SwitchTask& task, Way& way) {
  auto known = present_of(task);
  for (const auto& step : way.steps)
    take(step.moves, known);
  way.end = verdict_of_end(task.plan, task.entered, known);
}

void add_verdicts(const SwitchTask& task, const WayFacts& facts, Way& way) {
  const auto& nodes = task.plan.nodes;
  auto known = present_of(task);
  way.before = verdict_of_end(task.plan, task.left, known);
  const auto physics = std::make_shared<KnownPhysics>();
  std::vector<Verdict> each(nodes.size());
  std::vector<bool> fresh(nodes.size(), false);
  for (std::size_t number = 0; number < way.steps.size(); ++number) {
    auto& step = way.steps[number];
    take(step.moves, known);
    if (number + 1 == way.steps.size()) break;
    const auto touched = touched_by(task.plan, step.moves);
    for (std::size_t i = 0; i < nodes.size(); ++i) {
      if (!touched[i] && fresh[i]) continue;
      each[i] = verdict_of(task.plan, facts.between[i], nodes[i], known, physics);
      as_between(each[i]);
      fresh[i] = true;
    }
    for (const auto& verdict : each) append(step.after.findings, verdict.findings);
  }
  way.end = verdict_of_end(task.plan, task.entered, known);
  if (!way.steps.empty()) way.steps.back().after = way.end;
}

}  // namespace catwalk::rack
