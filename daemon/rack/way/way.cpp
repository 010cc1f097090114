// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/way.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "daemon/rack/rules/carrier_rules.hpp"
#include "daemon/rack/values/wording.hpp"
#include "daemon/rack/way/rack_verdict.hpp"
#include "daemon/rack/way/way_facts.hpp"
#include "daemon/rack/way/way_search.hpp"

namespace catwalk::rack {
namespace {

std::string while_step(int step) { return "While step " + std::to_string(step) + " is under way"; }

// One by which it was heard before.
std::size_t leaver_of(const Heard& heard) {
  if (!heard.losers.empty()) return heard.losers.back();
  for (const auto& path : heard.paths)
    if (!path.not_begun.empty()) return path.not_begun.back();
  return heard.gainers.front();
}

// One finding for each receiver that may be dark.
void tell_darkness(const WayFacts& facts, const Schedule& schedule, int step,
                   std::vector<Finding>& findings) {
  struct Dark {
    std::vector<std::size_t> carriers;  // of WayFacts::live
    plan::NodeName node;                // one that has left it
  };
  std::map<std::size_t, Dark> dark;  // by the receiver's place in the plan
  std::vector<const plan::Receiver*> receivers;
  for (std::size_t i = 0; i < facts.heard.size(); ++i) {
    const auto& heard = facts.problem.heard[i];
    if (!is_dark(heard, schedule, step)) continue;
    const auto* receiver = facts.heard[i].receiver;
    auto place = std::ranges::find(receivers, receiver);
    if (place == receivers.end()) place = receivers.insert(place, receiver);
    auto& lost = dark[static_cast<std::size_t>(place - receivers.begin())];
    lost.carriers.insert(lost.carriers.end(), facts.heard[i].carriers.begin(),
                         facts.heard[i].carriers.end());
    lost.node = facts.movers[leaver_of(heard)].name;
  }
  for (auto& [place, lost] : dark) {
    const auto& receiver = *receivers[place];
    std::ranges::sort(lost.carriers);
    std::vector<std::string> names;
    for (const auto carrier : lost.carriers) names.push_back(facts.live[carrier].any().name.text);
    Finding finding{Rule::diversity_dark,
                    Severity::caution,
                    lost.node,
                    {receiver.name.text},
                    {{"step", static_cast<double>(step), ""},
                     {"carriers", static_cast<double>(lost.carriers.size()), ""},
                     {"branches", static_cast<double>(receiver.branches.size()), ""}},
                    while_step(step) + " receiver " + receiver.name.text + " may lose " +
                        listed(names) + ": every antenna that passed " +
                        (lost.carriers.size() == 1 ? "it" : "them") +
                        " before has left or is leaving, and none of those that will is there "
                        "yet."};
    finding.concerns.insert(finding.concerns.end(), names.begin(), names.end());
    findings.push_back(std::move(finding));
  }
}

Verdict in_flight(const WayFacts& facts, const Schedule& schedule, int step) {
  Verdict verdict;
  tell_darkness(facts, schedule, step, verdict.findings);
  for (std::size_t i = 0; i < facts.amplifiers.size(); ++i) {
    const auto& amplifier = facts.problem.amplifiers[i];
    const double power = worst_power(amplifier, schedule, step);
    const auto broken = breaches_of(amplifier, power);
    if (broken.none()) continue;
    const auto& about = facts.amplifiers[i];
    auto finding = overload_on_the_way(about, {}, power,
                                       broken.refusals > 0 ? Severity::refuse : Severity::caution,
                                       while_step(step));
    finding.numbers.push_back({"step", static_cast<double>(step), ""});
    for (const auto node : movers_of(amplifier))
      finding.concerns.push_back(facts.movers[node].name.text);
    verdict.findings.push_back(std::move(finding));
  }
  return verdict;
}

std::optional<Move> move_in(const Mover& mover, const Schedule::Times& times, int step) {
  if (times.window != step && times.gain != step) return std::nullopt;
  Move move{mover.name, MovePart::whole, mover.present, mover.target};
  if (!times.split()) return move;
  const bool gain = times.gain == step;
  const bool second = step == std::max(times.window, times.gain);
  move.part = gain ? MovePart::gain : MovePart::window;
  const auto between = gain == second ? mover.at(true, false) : mover.at(false, true);
  if (second)
    move.from = between;
  else
    move.to = between;
  return move;
}

}  // namespace

Way plan_way(const SwitchTask& task, WayDetail detail) {
  const auto facts = facts_of(task);
  const auto solution = solve(facts.problem);
  Way way;
  way.at_least_steps = solution.at_least_steps;
  way.least_bad = solution.least_breaches;
  // On the way back the same are on the air as on the way there.
  way.breaches.findings = task.back ? check_meeting(task.plan, task.entered, task.left)
                                    : check_meeting(task.plan, task.left, task.entered);
  // What stands apart by level is no breach.
  std::erase_if(way.breaches.findings,
                [](const Finding& finding) { return finding.severity == Severity::note; });
  way.breaches.findings.insert(way.breaches.findings.end(), facts.unavoidable.begin(),
                               facts.unavoidable.end());
  for (int number = 1; number <= solution.schedule.steps; ++number) {
    Step step;
    for (std::size_t i = 0; i < facts.movers.size(); ++i)
      if (auto move = move_in(facts.movers[i], solution.schedule.times[i], number))
        step.moves.push_back(std::move(*move));
    step.in_flight = in_flight(facts, solution.schedule, number);
    way.breaches.findings.insert(way.breaches.findings.end(), step.in_flight.findings.begin(),
                                 step.in_flight.findings.end());
    way.steps.push_back(std::move(step));
  }
  if (detail == WayDetail::with_verdicts) add_verdicts(task, facts, way);
  if (detail == WayDetail::steps_and_end) add_end_verdict(task, way);
  return way;
}

Way plan_way(const WayQuestion& question) {
  const auto& plan = *question.plan;
  return plan_way({plan, *plan.find(question.left), *plan.find(question.entered), question.nodes,
                   question.back},
                  question.detail);
}

}  // namespace catwalk::rack
