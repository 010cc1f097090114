// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/what_if.hpp"

#include <algorithm>
#include <cstdio>

#include "daemon/rack/levels/chain_stages.hpp"

namespace catwalk::rack {
namespace {

constexpr double most_louder = 60.0;     // dB either way
constexpr double longest_more = 1000.0;  // m

std::string text_of(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%g", value);
  return text;
}

template <class Items>
std::vector<std::string> names_of(const Items& items) {
  std::vector<std::string> names;
  for (const auto& item : items) names.push_back(item.name.text);
  return names;
}

std::string one_of(const std::vector<std::string>& names) {
  std::string text = "one of ";
  for (const auto& name : names) text += (&name == &names.front() ? "" : ", ") + name;
  return names.empty() ? "none: there is none" : text;
}

// A copy of the plan in which everything that was supposed is so.
class Supposition {
 public:
  Supposition(const Surroundings& around, const WhatIf& question)
      : plan_{around.plan}, question_{question} {
    segment_ = std::ranges::find(plan_.segments, around.segment.name, &plan::Segment::name);
    for (const auto& name : question.passive)
      if (plan_.find(name) == nullptr) unknown("passive", name.text, names_of(plan_.nodes));
    for (const auto& [name, by] : question.louder) make_louder(name, by);
    for (const auto& [name, by] : question.longer) make_longer(name, by);
  }

  const plan::RackPlan& plan() const { return plan_; }
  const plan::Segment& segment() const { return *segment_; }
  std::vector<WhatIfProblem>& problems() { return problems_; }

  bool is_passive(const plan::NodeName& name) const {
    return std::ranges::find(question_.passive, name) != question_.passive.end();
  }

 private:
  void unknown(const std::string& field, const std::string& name,
               const std::vector<std::string>& known) {
    problems_.push_back({field, name, one_of(known), "\"" + name + "\" is not there."});
  }
  void outside(const std::string& field, double value, const std::string& allowed) {
    problems_.push_back({field, text_of(value), allowed, text_of(value) + " is out of range."});
  }

  void make_louder(const plan::CarrierName& name, rf::Decibel by) {
    const auto field = "louder/" + name.text;
    auto* carrier = segment_->find(name);
    if (carrier == nullptr) return unknown("louder", name.text, names_of(segment_->carriers));
    if (!(std::abs(by.value()) <= most_louder)) return outside(field, by.value(), "-60 to 60 dB");
    if (!carrier->erp)
      return problems_.push_back({field, text_of(by.value()), "a carrier with an e.r.p.",
                                  "The show file gives no e.r.p. of " + name.text + "."});
    carrier->erp = *carrier->erp + by;
  }

  void make_longer(const plan::NodeName& name, rf::Metres by) {
    const auto field = "longer/" + name.text;
    const auto node = std::ranges::find(plan_.nodes, name, &plan::Node::name);
    if (node == plan_.nodes.end()) return unknown("longer", name.text, names_of(plan_.nodes));
    auto* cable = node->feed ? longest_cable(*node->feed) : nullptr;
    if (cable == nullptr)
      return problems_.push_back({field, text_of(by.value()), "a node with a cable in its feed",
                                  "The rack file gives no cable behind " + name.text + "."});
    const double is = cable->length.value();
    const double lowest = -std::min(is, longest_more);
    const double highest = std::min(rf::longest_cable_metres - is, longest_more);
    if (!(lowest <= by.value() && by.value() <= highest))
      return outside(field, by.value(), text_of(lowest) + " to " + text_of(highest) + " m");
    cable->length = cable->length + by;
  }

  plan::RackPlan plan_;
  const WhatIf& question_;
  std::vector<plan::Segment>::iterator segment_;
  std::vector<WhatIfProblem> problems_;
};

}  // namespace

Result<Supposed, std::vector<WhatIfProblem>> what_if(const Surroundings& around,
                                                     const plan::Node& node,
                                                     const plan::Settings& base,
                                                     const WhatIf& question,
                                                     const plan::CarrierName& carrier) {
  Supposition supposed{around, question};
  if (!supposed.problems().empty()) return Failure{std::move(supposed.problems())};

  const auto& its_node = *supposed.plan().find(node.name);
  auto [settings, findings] = propose(its_node, base, question.patch);
  if (supposed.is_passive(node.name)) settings.power = false;
  const Surroundings there{supposed.plan(), supposed.segment(),
                           [&](const plan::NodeName& name) {
                             auto states = around.possible(name);
                             if (supposed.is_passive(name))
                               for (auto& state : states) state.power = false;
                             return states;
                           },
                           false};
  Supposed answer{settings, check(there, its_node, settings), false, {}};
  answer.possible = findings.empty() && check_datasheet(its_node, settings).empty();
  answer.verdict.findings.insert(answer.verdict.findings.begin(), findings.begin(), findings.end());
  if (answer.possible)
    answer.explained =
        explain(there.plan, there.segment, its_node, settings, settings_of(there), carrier);
  // The plan that these point into goes away with this question.
  for (auto& chain : answer.explained.chains) {
    chain.budget.carrier = nullptr;
    chain.budget.receiver = nullptr;
  }
  return answer;
}

}  // namespace catwalk::rack
