// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/supply_rules.hpp"

#include <algorithm>
#include <iterator>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rack/rules/power_failure.hpp"
#include "daemon/rack/values/carriers_at.hpp"
#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

Number milliamperes(std::string name, std::uint32_t value) {
  return {std::move(name), static_cast<double>(value), "mA"};
}

std::string in_milliamperes(std::uint32_t value) { return std::to_string(value) + " mA"; }

bool is_to_be_heard(const Surroundings& around, const plan::NodeName& node) {
  return std::ranges::any_of(around.segment.carriers, [&](const plan::Carrier& carrier) {
    return has_to_bring(around.plan, node, carrier);
  });
}

// What it costs that the node is passive, as far as its levels are known; else nothing.
std::string cost_in_words(const Surroundings& around, const plan::Node& node, Finding& finding) {
  const auto states = around.possible(node.name);
  if (states.empty()) return {};
  auto settings = states.back();
  settings.power = true;
  const auto known = physics_of(around, node);
  if (!known->physics().has_numbers() || !node.datasheet->reaches(settings)) return {};
  const TunedNode tuned{known->physics(), settings, &known->searches()};
  const auto budget = tuned.at(settings.gain);
  if (!is_heard(budget)) return {};
  auto told = if_power_fails(node.name, budget, known->passive());
  finding.numbers.insert(finding.numbers.end(), told.numbers.begin(), told.numbers.end());
  finding.concerns.insert(finding.concerns.end(), told.concerns.begin(), told.concerns.end());
  return ' ' + told.sentence;
}

void check_input(const Surroundings& around, const plan::Matrix& matrix, std::size_t input,
                 const plan::Node& node, std::vector<Finding>& findings) {
  const auto& takes = *node.datasheet->supply;
  const auto fed = plan::fed_by(matrix, input);
  const auto socket = "input " + std::to_string(input) + " of " + matrix.name.text;
  const Number feeds{"fed", fed / 1000.0, "V"};
  if (fed == 0) {
    if (!is_to_be_heard(around, node.name)) return;
    Finding finding{Rule::antenna_unsupplied, Severity::caution, matrix.name,
                    {node.name.text},         {feeds},           {}};
    finding.sentence = node.name.text + " is to be heard and gets no supply from " + socket + ".";
    finding.sentence += cost_in_words(around, node, finding);
    findings.push_back(std::move(finding));
    return;
  }
  if (!takes.takes(fed))
    findings.push_back({Rule::supply_voltage,
                        Severity::refuse,
                        matrix.name,
                        {node.name.text},
                        {feeds,
                         {"lowest", takes.lowest_mv / 1000.0, "V"},
                         {"highest", takes.highest_mv / 1000.0, "V"}},
                        node.name.text + " is fed " + supply_in_words(fed) + " by " + socket +
                            "; a " + node.datasheet->type + " takes " +
                            supply_in_words(takes.lowest_mv) + " to " +
                            supply_in_words(takes.highest_mv) + "."});
  if (const auto most = matrix.sheet->supply->most_ma; takes.ma > most)
    findings.push_back({Rule::supply_current,
                        Severity::refuse,
                        matrix.name,
                        {node.name.text},
                        {milliamperes("drawn", takes.ma), milliamperes("most", most)},
                        node.name.text + " may draw " + in_milliamperes(takes.ma) + "; " + socket +
                            " gives at most " + in_milliamperes(most) + "."});
}

// An output of another matrix takes no supply, whatever is behind it.
void check_output(const plan::Matrix& matrix, std::size_t input, const plan::Before& before,
                  std::vector<Finding>& findings) {
  const auto fed = plan::fed_by(matrix, input);
  if (fed == 0) return;
  findings.push_back({Rule::supply_voltage,
                      Severity::refuse,
                      matrix.name,
                      {before.matrix->name.text},
                      {{"fed", fed / 1000.0, "V"}},
                      "Input " + std::to_string(input) + " of " + matrix.name.text + " feeds " +
                          supply_in_words(fed) + " into output " + std::to_string(before.output) +
                          " of " + before.matrix->name.text + ", which takes none."});
}

// Of all inputs together, and when one of them is shorted.
void check_sum(const plan::Matrix& matrix, std::uint32_t drawn, std::uint32_t least,
               std::vector<Finding>& findings) {
  const auto& supply = *matrix.sheet->supply;
  const auto tell = [&](Severity severity, std::string sentence) {
    findings.push_back({Rule::supply_current,
                        severity,
                        matrix.name,
                        {},
                        {milliamperes("drawn", drawn), milliamperes("most", supply.most_ma_of_all)},
                        std::move(sentence)});
  };
  const auto all = "What " + matrix.name.text + " feeds may draw " + in_milliamperes(drawn) +
                   " together; it gives at most " + in_milliamperes(supply.most_ma_of_all);
  if (drawn > supply.most_ma_of_all) return tell(Severity::refuse, all + ".");
  if (drawn - least + supply.most_ma > supply.most_ma_of_all)
    tell(Severity::note, all + ": a short at one input, which takes " +
                             in_milliamperes(supply.most_ma) +
                             " until it lets go, would take the others down with it.");
}

}  // namespace

bool is_supplied(const plan::RackPlan& plan, const plan::Node& node) {
  if (!node.ends_at || !node.datasheet->supply) return true;
  const auto* matrix = plan.find_matrix(node.ends_at->matrix);
  if (matrix == nullptr || !matrix->sheet->supply) return true;
  return node.datasheet->supply->takes(plan::fed_by(*matrix, node.ends_at->input));
}

std::vector<Finding> check_supplies(const Surroundings& around, const plan::Matrix& matrix) {
  std::vector<Finding> findings;
  if (!matrix.sheet->supply) return findings;
  std::uint32_t drawn = 0;
  std::uint32_t least = 0;
  for (std::size_t input = 1; input <= matrix.sheet->inputs; ++input) {
    if (const auto before = plan::before_input(around.plan, {matrix.name, input}))
      check_output(matrix, input, *before, findings);
    const auto* node = plan::at_input(around.plan, {matrix.name, input});
    if (node == nullptr || !node->datasheet->supply) continue;
    check_input(around, matrix, input, *node, findings);
    if (plan::fed_by(matrix, input) == 0) continue;
    const auto ma = node->datasheet->supply->ma;
    drawn += ma;
    least = least == 0 ? ma : std::min<std::uint32_t>(least, ma);
  }
  if (drawn > 0) check_sum(matrix, drawn, least, findings);
  return findings;
}

std::function<PossibleSettings(const plan::NodeName&)> possible_with_supplies(
    const Surroundings& around, const plan::RackPlan& then) {
  return [&around, &then](const plan::NodeName& name) {
    auto states = around.possible(name);
    const auto* before = around.plan.find(name);
    const auto* after = then.find(name);
    if (before == nullptr || after == nullptr) return states;
    const bool was = is_supplied(around.plan, *before);
    const bool is = is_supplied(then, *after);
    if (was != is)
      for (auto& state : states) state.power = is;
    return states;
  };
}

}  // namespace catwalk::rack
