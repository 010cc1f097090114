// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/sum_rules.hpp"

#include <algorithm>
#include <map>
#include <optional>

#include "daemon/plan/routed.hpp"
#include "daemon/rack/levels/tuned_node.hpp"
#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

using rf::Decibel;

const Decibel least_told = Decibel::of(0.5);

// Margins of the carriers that a receiver is to hear through a node, by name.
using Margins = std::map<std::string, Decibel>;

Margins margins_of(const Surroundings& around, const plan::Node& node,
                   const plan::ReceiverName& receiver) {
  Margins margins;
  const auto states = around.possible(node.name);
  if (states.empty()) return margins;
  const auto known = physics_of(around, node);
  if (!known->physics().has_numbers()) return margins;
  const TunedNode tuned{known->physics(), states.back(), &known->searches()};
  for (const auto& served : tuned.carriers_without_products_at(states.back().gain).carriers)
    if (served.receiver != nullptr && served.receiver->name == receiver)
      if (const auto margin = served.margin()) margins.emplace(served.carrier->name.text, *margin);
  return margins;
}

struct ByItself {
  const plan::Node* node = nullptr;
  Margins alone;
  Margins in_sum;
};

// The worst of the carriers: where the sum costs most beyond what it is worth.
struct Loss {
  std::string carrier;
  const ByItself* best = nullptr;
  const ByItself* next = nullptr;
  Decibel cost;
  Decibel worth;
};

std::optional<Loss> loss_of(const std::vector<ByItself>& antennas) {
  std::optional<Loss> worst;
  for (const auto& margin : antennas.front().alone) {
    const auto& carrier = margin.first;
    const auto at = [&](const Margins& margins) {
      const auto found = margins.find(carrier);
      return found == margins.end() ? Decibel::of(-300) : found->second;
    };
    std::vector<const ByItself*> ranked;
    Decibel in_sum = Decibel::of(-300);
    for (const auto& antenna : antennas) {
      ranked.push_back(&antenna);
      in_sum = std::max(in_sum, at(antenna.in_sum));
    }
    std::ranges::stable_sort(
        ranked, [&](const ByItself* a, const ByItself* b) { return at(a->alone) > at(b->alone); });
    const Loss loss{carrier, ranked[0], ranked[1], at(ranked[0]->alone) - in_sum,
                    std::max(Decibel{}, at(ranked[1]->alone))};
    const bool told = loss.cost >= least_told && loss.cost > loss.worth;
    if (told && (!worst || loss.cost - loss.worth > worst->cost - worst->worth)) worst = loss;
  }
  return worst;
}

void check_cost(const Surroundings& around, const plan::Matrix& matrix, std::size_t output,
                const plan::Receiver& receiver, const plan::Branch& branch,
                std::vector<Finding>& findings) {
  std::vector<ByItself> antennas;
  for (const auto& name : branch.nodes) {
    const auto* node = around.plan.find(name);
    if (node == nullptr || !node->ends_at) return;
    auto settings = matrix.settings;
    settings.outputs[output - 1] = {plan::input_at(around.plan, *node, branch)};
    const auto plan = plan::routed(around.plan, {{matrix.name, {settings, matrix.supplied}}});
    const Surroundings by_itself{*plan, around.segment, around.possible, false};
    antennas.push_back({node, margins_of(by_itself, *plan->find(name), receiver.name),
                        margins_of(around, *node, receiver.name)});
  }
  const auto loss = loss_of(antennas);
  if (!loss) return;
  const auto& best = loss->best->node->name.text;
  const auto& next = loss->next->node->name.text;
  findings.push_back(
      {Rule::sum_costs,
       Severity::caution,
       matrix.name,
       {loss->carrier, receiver.name.text, best, next},
       {decibels("cost", loss->cost), decibels("worth", loss->worth)},
       "Output " + std::to_string(output) + " sums " + in_words(plan::taken_by(matrix, output)) +
           ": that costs " + loss->carrier + " at " + receiver.name.text + ' ' +
           in_words(loss->cost) + " of margin against " + best + " alone, and " + next +
           " by itself has " +
           (loss->worth > Decibel{} ? "only " + in_words(loss->worth) + "." : "none.")});
}

void check_open_inputs(const Surroundings& around, const plan::Matrix& matrix, std::size_t output,
                       std::vector<Finding>& findings) {
  const auto& inputs = plan::taken_by(matrix, output);
  if (inputs.size() < 2) return;
  plan::Inputs open;
  for (const auto input : inputs)
    if (!plan::is_plugged(around.plan, {matrix.name, input})) open.push_back(input);
  if (open.empty() || open.size() == inputs.size()) return;
  const auto used = inputs.size() - open.size();
  const auto cost =
      matrix.sheet->combining_loss(inputs.size()) - matrix.sheet->combining_loss(used);
  findings.push_back({Rule::sum_open_input,
                      Severity::caution,
                      matrix.name,
                      {},
                      {{"output", static_cast<double>(output), ""}, decibels("cost", cost)},
                      "Output " + std::to_string(output) + " sums " + in_words(inputs) +
                          ", and nothing ends at " + in_words(open) +
                          ": an open input costs the "
                          "others " +
                          in_words(cost) + "."});
}

// What either sum costs, nobody could tell.
void check_sum_of_sums(const plan::Matrix& matrix, const plan::Receiver& receiver,
                       const plan::Branch& branch, std::vector<Finding>& findings) {
  for (const auto& arm : branch.arms) {
    if (!arm.by || arm.chain.empty()) continue;
    const auto antennas = std::ranges::count(branch.arms, arm.by, &plan::Arm::by);
    if (antennas < 2) continue;
    const auto name = [](const plan::OutputOf& output) {
      return "output " + std::to_string(output.output) + " of " + output.matrix.text;
    };
    auto sentence = name(*branch.from) + " sums several inputs for " + receiver.name.text +
                    ", and what comes there by " + name(*arm.by) + " is a sum already, of " +
                    std::to_string(antennas) + " antennas: one of the two may sum.";
    sentence[0] = 'O';
    findings.push_back({Rule::sum_of_sums,
                        Severity::refuse,
                        matrix.name,
                        {receiver.name.text},
                        {{"antennas", static_cast<double>(antennas), ""}},
                        std::move(sentence)});
    return;
  }
}

// One antenna on both branches is no diversity.
void check_same_antenna(const plan::Matrix& matrix, const plan::Receiver& receiver,
                        std::vector<Finding>& findings) {
  if (receiver.branches.size() != 2) return;
  for (const auto& name : receiver.branches[0].nodes) {
    const auto& others = receiver.branches[1].nodes;
    if (std::ranges::find(others, name) == others.end()) continue;
    findings.push_back({Rule::same_antenna,
                        Severity::caution,
                        matrix.name,
                        {receiver.name.text, name.text},
                        {},
                        "Both branches of " + receiver.name.text + " hear " + name.text +
                            ": one antenna on both is no diversity."});
    return;
  }
}

}  // namespace

std::vector<Finding> check_sums(const Surroundings& around, const plan::Matrix& matrix) {
  std::vector<Finding> findings;
  for (std::size_t output = 1; output <= matrix.sheet->outputs; ++output)
    check_open_inputs(around, matrix, output, findings);
  for (const auto& receiver : around.plan.receivers) {
    bool leads_here = false;
    for (const auto& branch : receiver.branches) {
      if (!plan::leads_through(branch, matrix)) continue;
      leads_here = true;
      check_sum_of_sums(matrix, receiver, branch, findings);
      if (const auto at = plan::summed_at(branch);
          branch.nodes.size() > 1 && at.matrix == matrix.name)
        check_cost(around, matrix, at.output, receiver, branch, findings);
    }
    if (leads_here) check_same_antenna(matrix, receiver, findings);
  }
  return findings;
}

}  // namespace catwalk::rack
