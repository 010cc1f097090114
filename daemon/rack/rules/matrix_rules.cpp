// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/matrix_rules.hpp"

#include <algorithm>
#include <iterator>
#include <set>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/rules/leak_rules.hpp"
#include "daemon/rack/rules/sum_rules.hpp"
#include "daemon/rack/rules/supply_rules.hpp"
#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

std::string up_to(std::size_t most) { return most == 1 ? "1" : "1 to " + std::to_string(most); }

Finding of_datasheet(Rule rule, const plan::Matrix& matrix, std::vector<Number> numbers,
                     std::string sentence) {
  return {rule, Severity::refuse, matrix.name, {}, std::move(numbers), std::move(sentence)};
}

Finding no_socket(const plan::Matrix& matrix, const std::string& what, std::size_t number,
                  std::size_t most) {
  return of_datasheet(
      Rule::matrix_route, matrix,
      {{what, static_cast<double>(number), ""}, {"most", static_cast<double>(most), ""}},
      "A " + matrix.sheet->type + " has no " + what + ' ' + std::to_string(number) + "; its " +
          what + "s are " + up_to(most) + ".");
}

void check_route(const plan::Matrix& matrix, std::size_t output, const plan::Inputs& inputs,
                 std::vector<Finding>& findings) {
  const auto& sheet = *matrix.sheet;
  for (const auto input : inputs)
    if (input < 1 || input > sheet.inputs)
      findings.push_back(no_socket(matrix, "input", input, sheet.inputs));
  if (inputs.size() > sheet.most_summed())
    findings.push_back(of_datasheet(
        Rule::matrix_route, matrix,
        {{"output", static_cast<double>(output), ""},
         {"inputs", static_cast<double>(inputs.size()), ""},
         {"most", static_cast<double>(sheet.most_summed()), ""}},
        "Output " + std::to_string(output) + " cannot take " + in_words(inputs) + ": a " +
            sheet.type +
            (sheet.most_summed() == 1
                 ? " selects one input for each output."
                 : " sums at most " + std::to_string(sheet.most_summed()) + " inputs.")));
}

void check_trim(const plan::Matrix& matrix, std::size_t input, rf::Gain trim,
                std::vector<Finding>& findings) {
  const auto& trims = matrix.sheet->trims;
  const auto which = "input " + std::to_string(input);
  if (!trims) {
    if (trim != rf::Gain{})
      findings.push_back(of_datasheet(Rule::matrix_trim, matrix, {decibels("trim", trim)},
                                      "A " + matrix.sheet->type + " has no trim, so " + which +
                                          " cannot have " + in_words(trim) + "."));
    return;
  }
  if (!trims->reaches(trim))
    findings.push_back(of_datasheet(Rule::matrix_trim, matrix,
                                    {decibels("trim", trim), decibels("lowest", trims->lowest),
                                     decibels("highest", trims->highest)},
                                    "The trim of " + which + " cannot be " + in_words(trim) +
                                        "; it goes from " + in_words(trims->lowest) + " to " +
                                        in_words(trims->highest) + "."));
  else if (!trims->on_step(trim))
    findings.push_back(of_datasheet(
        Rule::matrix_trim, matrix, {decibels("trim", trim), decibels("step", trims->step)},
        in_words(trim) + " for " + which + " is between two steps; it moves in steps of " +
            in_words(trims->step) + " from " + in_words(trims->lowest) + "."));
}

void check_supply(const plan::Matrix& matrix, std::size_t input, std::uint16_t millivolts,
                  std::vector<Finding>& findings) {
  if (millivolts == 0) return;
  const auto& supply = matrix.sheet->supply;
  const auto which = "input " + std::to_string(input);
  const auto asked = supply_in_words(millivolts);
  const Number number{"supply", millivolts / 1000.0, "V"};
  if (!supply) {
    findings.push_back(of_datasheet(
        Rule::matrix_supply, matrix, {number},
        "A " + matrix.sheet->type + " feeds nothing, so " + which + " cannot have " + asked + "."));
    return;
  }
  const auto& choices = supply->millivolts;
  if (std::ranges::find(choices, millivolts) != choices.end()) return;
  std::vector<std::string> words;
  for (const auto choice : choices) words.push_back(supply_in_words(choice));
  findings.push_back(of_datasheet(
      Rule::matrix_supply, matrix, {number},
      which + " cannot feed " + asked + "; it feeds " + listed(words) + ", or is off."));
  findings.back().sentence[0] = 'I';
}

bool has_antenna(const plan::Branch& branch) { return !branch.nodes.empty(); }

std::vector<std::string> to_be_heard(const plan::Segment& segment,
                                     const plan::ReceiverName& receiver) {
  std::vector<std::string> names;
  for (const auto& carrier : segment.carriers)
    if (carrier.use == plan::CarrierUse::receive &&
        std::ranges::find(carrier.receivers, receiver) != carrier.receivers.end())
      names.push_back(carrier.name.text);
  return names;
}

// No node tells of a receiver at which there is none.
void check_antennas(const Surroundings& around, const plan::Matrix& matrix,
                    std::vector<Finding>& findings) {
  for (const auto& receiver : around.plan.receivers) {
    const auto& branches = receiver.branches;
    const bool concerned = std::ranges::any_of(branches, [&](const plan::Branch& branch) {
      return plan::leads_through(branch, matrix) && !has_antenna(branch);
    });
    const auto carriers = to_be_heard(around.segment, receiver.name);
    if (!concerned || carriers.empty()) continue;
    const bool deaf = std::ranges::none_of(branches, has_antenna);
    const auto left = static_cast<double>(std::ranges::count_if(branches, has_antenna));
    Finding finding{
        Rule::receiver_without_antenna,
        deaf ? Severity::refuse : Severity::caution,
        matrix.name,
        {receiver.name.text},
        {{"branches", static_cast<double>(branches.size()), ""}, {"with antenna", left, ""}},
        "Receiver " + receiver.name.text +
            (deaf ? " has no antenna by these routes, and is to hear " + listed(carriers) + "."
                  : " has an antenna on one of its two branches only: without diversity it is to "
                    "hear " +
                        listed(carriers) + ".")};
    finding.concerns.insert(finding.concerns.end(), carriers.begin(), carriers.end());
    findings.push_back(std::move(finding));
  }
}

// Receivers that hear otherwise by one plan than by another.
std::set<std::size_t> heard_otherwise(const plan::RackPlan& before, const plan::RackPlan& now) {
  const auto same_feed = [&](const plan::NodeName& name) {
    const auto* was = before.find(name);
    const auto* is = now.find(name);
    return was != nullptr && is != nullptr && was->feed == is->feed &&
           is_supplied(before, *was) == is_supplied(now, *is);
  };
  std::set<std::size_t> receivers;
  for (std::size_t i = 0; i < now.receivers.size(); ++i) {
    const auto& is = now.receivers[i];
    const bool same = is == before.receivers[i] &&
                      std::ranges::all_of(is.branches, [&](const plan::Branch& branch) {
                        return std::ranges::all_of(branch.nodes, same_feed);
                      });
    if (!same) receivers.insert(i);
  }
  return receivers;
}

// What is found of the nodes at these receivers, each as it is set.
Verdict at_receivers(const Surroundings& around, const std::set<std::size_t>& receivers) {
  Verdict verdict;
  for (const auto& node : around.plan.nodes) {
    const bool concerned = std::ranges::any_of(receivers, [&](std::size_t receiver) {
      return plan::RackPlan::serves(around.plan.receivers[receiver], node.name);
    });
    if (!concerned) continue;
    const auto states = around.possible(node.name);
    if (!states.empty())
      std::ranges::move(check(around, node, states.back()).findings,
                        std::back_inserter(verdict.findings));
  }
  return verdict;
}

// A receiver that is dark is said to be so by each of its nodes.
bool is_same_matter(const Finding& a, const Finding& b) {
  return a.rule == b.rule && a.concerns == b.concerns &&
         (a.node == b.node || a.rule == Rule::diversity_dark);
}

}  // namespace

MatrixProposal propose(const plan::Matrix& matrix, const plan::MatrixSettings& base,
                       const plan::MatrixPatch& patch) {
  MatrixProposal proposal{plan::patched(base, patch), {}};
  const auto look = [&](const auto& asked, const std::string& what, std::size_t most) {
    for (const auto& [number, value] : asked)
      if (number < 1 || number > most)
        proposal.findings.push_back(no_socket(matrix, what, number, most));
  };
  look(patch.routes, "output", matrix.sheet->outputs);
  look(patch.trims, "input", matrix.sheet->inputs);
  look(patch.supplies_mv, "input", matrix.sheet->inputs);
  look(patch.labels, "input", matrix.sheet->inputs);
  return proposal;
}

bool is_set_in(const plan::Segment& segment, const plan::NodeName& name) {
  return segment.settings.contains(name) || segment.matrices.contains(name);
}

NodeProposal propose(const plan::Device& device, const plan::NodeSettings& base,
                     const plan::Segment& segment) {
  if (!device.fits(base)) return {base, check_datasheet(device, base)};
  if (const auto* node = device.amplifier()) {
    const auto found = segment.settings.find(node->name);
    if (found == segment.settings.end()) return {base, {}};
    auto [settings, findings] = propose(*node, *base.amplifier(), found->second);
    return {std::move(settings), std::move(findings)};
  }
  const auto found = segment.matrices.find(device.name());
  if (found == segment.matrices.end()) return {base, {}};
  auto [settings, findings] = propose(*device.matrix(), *base.matrix(), found->second);
  return {std::move(settings), std::move(findings)};
}

std::vector<Finding> check_datasheet(const plan::Matrix& matrix,
                                     const plan::MatrixSettings& settings) {
  std::vector<Finding> findings;
  for (std::size_t i = 0; i < settings.outputs.size(); ++i)
    check_route(matrix, i + 1, settings.outputs[i], findings);
  for (std::size_t i = 0; i < settings.inputs.size(); ++i) {
    const auto& input = settings.inputs[i];
    check_trim(matrix, i + 1, input.trim, findings);
    check_supply(matrix, i + 1, input.supply_mv, findings);
    check_label(matrix.name, input.label, "The label of input " + std::to_string(i + 1), findings);
  }
  check_label(matrix.name, settings.label, "The label", findings);
  return findings;
}

Verdict check(const Surroundings& around, const plan::Matrix& matrix,
              const plan::MatrixSettings& settings) {
  Verdict verdict;
  if (around.locked) verdict.findings.push_back(show_is_locked(matrix.name));
  auto impossible = check_datasheet(matrix, settings);
  const bool possible = impossible.empty();
  std::ranges::move(impossible, std::back_inserter(verdict.findings));
  if (!possible) return verdict;
  const auto plan = plan::routed(around.plan, {{matrix.name, {settings, matrix.supplied}}});
  const Surroundings then{*plan, around.segment, possible_with_supplies(around, *plan), false};
  const auto& set = *plan->find_matrix(matrix.name);
  check_antennas(then, set, verdict.findings);
  std::ranges::move(check_supplies(then, set), std::back_inserter(verdict.findings));
  std::ranges::move(check_sums(then, set), std::back_inserter(verdict.findings));
  std::ranges::move(check_leaks(then, set), std::back_inserter(verdict.findings));
  const auto receivers = heard_otherwise(around.plan, *plan);
  if (receivers.empty()) return verdict;
  auto unlocked = around;
  unlocked.locked = false;
  Verdict whole = at_receivers(unlocked, receivers);
  const auto known = whole.findings.size();
  add_new_findings(whole, at_receivers(then, receivers));
  std::move(whole.findings.begin() + static_cast<std::ptrdiff_t>(known), whole.findings.end(),
            std::back_inserter(verdict.findings));
  return verdict;
}

Verdict check(const Surroundings& around, const plan::Device& device,
              const plan::NodeSettings& settings) {
  if (const auto* own = settings.amplifier(); own != nullptr && device.amplifier() != nullptr)
    return check(around, *device.amplifier(), *own);
  if (device.matrix() != nullptr && device.fits(settings))
    return check(around, *device.matrix(), *settings.matrix());
  return {check_datasheet(device, settings)};
}

std::vector<Finding> check_datasheet(const plan::Device& device,
                                     const plan::NodeSettings& settings) {
  if (const auto* own = settings.amplifier(); own != nullptr && device.amplifier() != nullptr)
    return check_datasheet(*device.amplifier(), *own);
  if (device.matrix() != nullptr && device.fits(settings))
    return check_datasheet(*device.matrix(), *settings.matrix());
  return {{Rule::matrix_route,
           Severity::refuse,
           device.name(),
           {},
           {},
           "These are settings of another kind of node than a " + device.type() + "."}};
}

void add_new_findings(Verdict& all, Verdict more) {
  for (auto& finding : more.findings) {
    const bool told = std::ranges::any_of(all.findings, [&](const Finding& known) {
      return is_same_matter(known, finding) && known.severity >= finding.severity;
    });
    if (!told) all.findings.push_back(std::move(finding));
  }
}

}  // namespace catwalk::rack
