// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/rules/physics_rules.hpp"

#include <algorithm>
#include <array>
#include <iterator>
#include <optional>

#include "daemon/rack/rules/link_words.hpp"
#include "daemon/rack/values/numbers.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

using rf::Decibel;

constexpr Decibel no_decibels{};
// What no sentence could show passes no limit.
constexpr auto rounding = Decibel::of(0.05);

void breach_if(std::vector<Breach>& all, Rule rule, std::size_t which, Decibel by,
               Severity severity = Severity::caution) {
  if (by > rounding) all.push_back({rule, severity, which, by});
}

void check_amplifiers(const plan::Limits& limits, const Budget& budget, std::vector<Breach>& all) {
  for (std::size_t i = 0; i < budget.amplifiers.size(); ++i) {
    const auto margin = budget.amplifiers[i].margin();
    if (margin < -rounding)
      breach_if(all, Rule::amplifier_overload, i, -margin, Severity::refuse);
    else
      breach_if(all, Rule::amplifier_overload, i, limits.compression_margin - margin);
  }
}

// Carriers of one receiver stand together.
void check_chain_gain(const plan::Limits& limits, const Budget& budget, std::vector<Breach>& all) {
  const auto& carriers = budget.carriers;
  for (std::size_t first = 0; first < carriers.size();) {
    Breach worst{Rule::chain_gain, Severity::caution, first, no_decibels};
    std::size_t i = first;
    for (; i < carriers.size() && carriers[i].receiver == carriers[first].receiver; ++i) {
      if (carriers[i].receiver == nullptr) continue;
      const auto gain = carriers[i].chain_gain;
      const auto by = std::max(limits.lowest_chain_gain - gain, gain - limits.highest_chain_gain);
      if (by > worst.by) worst = {Rule::chain_gain, Severity::caution, i, by};
    }
    if (worst.by > rounding) all.push_back(worst);
    first = i;
  }
}

void check_receivers(const plan::Limits& limits, const Budget& budget, std::vector<Breach>& all) {
  for (std::size_t i = 0; i < budget.receivers.size(); ++i) {
    const auto& load = budget.receivers[i];
    if (load.receiver->input)
      breach_if(all, Rule::receiver_overload, i, limits.overload_margin - load.margin());
  }
}

// What products take off the protection of the weakest signal; nothing where it is not known.
std::optional<Decibel> missing_protection(const CarrierBudget& served) {
  if (!served.weakest || served.receiver == nullptr || !served.receiver->input) return std::nullopt;
  return served.receiver->input->protection_ratio - (*served.weakest - served.intermodulation);
}

void check_links(const plan::Limits& limits, const Budget& budget, std::vector<Breach>& all) {
  for (std::size_t i = 0; i < budget.carriers.size(); ++i)
    if (const auto margin = budget.carriers[i].margin())
      breach_if(all, Rule::link_margin, i, budget.carriers[i].margin_wanted(limits) - *margin);
}

void check_products(const plan::Limits& limits, const Budget& budget, std::vector<Breach>& all) {
  for (std::size_t i = 0; i < budget.carriers.size(); ++i)
    if (auto breach = products_on(limits, budget.carriers[i])) {
      breach->which = i;
      all.push_back(*breach);
    }
}

// By how much the products on this carrier count, < 0: not yet. The nearer of both ways.
Decibel products_count_by(const plan::Limits& limits, const CarrierBudget& served) {
  const auto over = served.intermodulation - served.noise - limits.intermodulation_over_noise;
  const auto missing = missing_protection(served);
  return missing ? std::max(over, *missing) : over;
}

// The amplifier nearest to its compression. Precondition: there is one.
const AmplifierLoad& most_driven(const Budget& budget) {
  return *std::ranges::min_element(budget.amplifiers, {}, &AmplifierLoad::margin);
}

void check_near_compression(const plan::Limits& limits, const Budget& budget,
                            std::vector<Breach>& all) {
  if (budget.amplifiers.empty()) return;
  const auto by = third_order_alone - most_driven(budget).margin();
  // Past compression that alone is refused.
  if (by <= rounding || by > third_order_alone) return;
  std::optional<std::size_t> nearest;
  auto nearest_by = -third_order_alone;
  for (std::size_t i = 0; i < budget.carriers.size(); ++i) {
    const auto& served = budget.carriers[i];
    if (served.intermodulation == rf::no_power()) continue;
    const auto found = products_on(limits, served);
    if (found && found->severity != Severity::note) continue;  // a caution already
    const auto count_by = products_count_by(limits, served);
    if (count_by <= nearest_by) continue;
    nearest = i;
    nearest_by = count_by;
  }
  if (nearest) all.push_back({Rule::near_compression, Severity::caution, *nearest, by});
}

// ---- counted ----------------------------------------------------------------------------------

// A search asks of thousands of gains: what their powers are multiplied by is worked out once.
struct GainOfLoads {
  rf::Gain gain;
  double ratio = (Decibel::of(gain) - rounding).ratio();
  double steady = (-rounding).ratio();  // of what no gain of the node changes
};

// The same of the loads alone, which a search has at hand for every gain.
void count_amplifiers(const plan::Limits& limits, const TunedNode::Loads& loads,
                      const GainOfLoads& at, Count& count) {
  // A margin is missed where the power exceeds the limit less the margin.
  const double compression = (-limits.compression_margin).ratio();
  for (const auto& amplifier : loads.amplifiers) {
    const double power =
        amplifier.power * at.ratio + (amplifier.steady + amplifier.foreign) * at.steady;
    const double limit = amplifier.limit_at(at.gain);
    if (power > limit)
      ++count.refusals;
    else if (power > limit * compression)
      ++count.cautions;
  }
}

void count_chain_gains(const plan::Limits& limits, const TunedNode::Loads& loads,
                       const GainOfLoads& at, Count& count) {
  const auto set = at.gain.decibels();
  for (const auto& chain : loads.chain_gains)
    if (chain.lowest + set < (limits.lowest_chain_gain - rounding).value() ||
        chain.highest + set > (limits.highest_chain_gain + rounding).value())
      ++count.cautions;
}

void count_receivers(const plan::Limits& limits, const TunedNode::Loads& loads,
                     const GainOfLoads& at, Count& count) {
  const double overload = (-limits.overload_margin).ratio();
  for (const auto& receiver : loads.receivers)
    if (std::ranges::any_of(receiver.powers, [&](const auto& power) {
          return power.first * at.ratio + power.second * at.steady > receiver.limit * overload;
        }))
      ++count.cautions;
}

// ---- in words ----------------------------------------------------------------------------------

std::string with(const CarrierBudget& served) {
  return served.receiver == nullptr ? "" : " at receiver " + served.receiver->name.text;
}

class Words {
 public:
  Words(const plan::RackPlan& plan, const plan::Node& node, const TunedNode& tuned, rf::Gain gain,
        const Budget& budget)
      : limits_{plan.limits}, node_{node}, tuned_{tuned}, gain_{gain}, budget_{budget} {}

  void overload(std::size_t which, Finding& finding) const {
    const auto& load = budget_.amplifiers[which];
    finding.concerns = {load.strongest->name.text};
    finding.numbers = {dbm("output", load.output), dbm("compression point", load.output_p1db),
                       decibels("margin", load.margin()),
                       decibels("margin wanted", limits_.compression_margin),
                       dbm("input", load.input)};
    const bool past = load.margin() < no_decibels;
    finding.sentence =
        "All carriers together leave the amplifier of " + load.amplifier + " with " +
        in_words(load.output) + ", " +
        (past ? in_words(-load.margin()) + " past" : "only " + in_words(load.margin()) + " below") +
        " its 1 dB compression point of " + in_words(load.output_p1db) + "; the strongest is " +
        load.strongest->name.text + ".";
    if (!stands_in_lead(load)) return;
    finding.concerns.push_back(load.amplifier);
    finding.sentence +=
        " It stands before " + node_.name.text + ", whose filter and gain change nothing for it.";
  }

  void chain_gain(std::size_t which, Finding& finding) const {
    const auto& served = budget_.carriers[which];
    const bool low = served.chain_gain < limits_.lowest_chain_gain;
    finding.concerns = names_in(served);
    finding.numbers = {decibels("chain gain", served.chain_gain),
                       decibels("lowest", limits_.lowest_chain_gain),
                       decibels("highest", limits_.highest_chain_gain),
                       {"frequency", served.carrier->frequency.megahertz(), "MHz"}};
    finding.sentence =
        "From the antenna to receiver " + served.receiver->name.text + " the chain " +
        (served.chain_gain < no_decibels ? "loses " + in_words(-served.chain_gain)
                                         : "gains " + in_words(served.chain_gain)) +
        " at " + in_words(served.carrier->frequency) + " (" + served.carrier->name.text + "); " +
        (low ? "a gain of " + in_words(limits_.lowest_chain_gain) +
                   " or more is wanted, to make up the losses."
             : "a gain of " + in_words(limits_.highest_chain_gain) +
                   " at most is wanted: more does no good.");
  }

  void receiver(std::size_t which, Finding& finding) const {
    const auto& load = budget_.receivers[which];
    const auto margin = load.margin();
    finding.concerns = {load.strongest->name.text, load.receiver->name.text};
    finding.numbers = {dbm("level", load.level), dbm("overload", load.receiver->input->overload),
                       decibels("margin", margin),
                       decibels("margin wanted", limits_.overload_margin)};
    finding.sentence = load.strongest->name.text + " reaches receiver " + load.receiver->name.text +
                       " with " + in_words(load.level) + ", " +
                       (margin < no_decibels ? in_words(-margin) + " more than"
                                             : "only " + in_words(margin) + " below") +
                       " the " + in_words(load.receiver->input->overload) + " that overload it.";
  }

  void link(std::size_t which, Finding& finding) const {
    const auto& served = budget_.carriers[which];
    const auto margin = *served.margin();
    finding.concerns = names_in(served);
    finding.numbers = {decibels("margin", margin),
                       decibels("margin wanted", served.margin_wanted(limits_)),
                       dbm("weakest", *served.weakest),
                       dbm("needed", *served.needed),
                       decibels("noise figure", served.noise_figure),
                       decibels("desensitisation", served.desensitisation)};
    finding.sentence = served.carrier->name.text + " comes in with " + in_words(*served.weakest) +
                       " at its weakest, " +
                       (margin < no_decibels ? in_words(-margin) + " less than"
                                             : "only " + in_words(margin) + " over") +
                       " the " + in_words(*served.needed) + " that" + with(served) + " is needed";
    if (served.protection_decides) {
      const auto protection = served.receiver->input->protection_ratio;
      finding.numbers.push_back(dbm("interference", served.interference()));
      finding.numbers.push_back(decibels("protection ratio", protection));
      finding.sentence += ", " + in_words(protection) + " over " + in_words(served.interference()) +
                          " of interference in its channel";
    }
    end_link_sentence(finding, limits_, tuned_, gain_, served);
  }

  void near_compression(std::size_t which, Finding& finding) const {
    const auto& served = budget_.carriers[which];
    const auto& load = most_driven(budget_);
    const auto left = -products_count_by(limits_, served);
    finding.concerns = names_in(served);
    finding.concerns.push_back(load.amplifier);
    finding.numbers = {
        decibels("margin", load.margin()), decibels("margin wanted", third_order_alone),
        dbm("intermodulation", served.intermodulation), decibels("before it counts", left)};
    finding.sentence = "The amplifier of " + load.amplifier + " is " + in_words(load.margin()) +
                       " below its 1 dB compression point. Nearer than " +
                       in_words(third_order_alone) +
                       " products are stronger than computed; those on " +
                       served.carrier->name.text + with(served) +
                       (left > no_decibels ? " are " + in_words(left) + " from counting already."
                                           : " count already, though they cost no margin yet.");
  }

  void intermodulation(std::size_t which, Finding& finding) const {
    const auto& served = budget_.carriers[which];
    finding.concerns = names_in(served);
    finding.numbers = {dbm("intermodulation", served.intermodulation),
                       dbm("noise", served.noise),
                       kilohertz("bandwidth", served.carrier->bandwidth),
                       decibels("over noise", served.intermodulation - served.noise),
                       decibels("over noise allowed", limits_.intermodulation_over_noise),
                       decibels("desensitisation", served.desensitisation)};
    if (served.weakest) {
      finding.numbers.push_back(dbm("weakest", *served.weakest));
      finding.numbers.push_back(
          decibels("over intermodulation", *served.weakest - served.intermodulation));
      if (served.receiver != nullptr && served.receiver->input)
        finding.numbers.push_back(
            decibels("protection ratio", served.receiver->input->protection_ratio));
    }
    const auto over = served.intermodulation - served.noise;
    finding.sentence =
        "Products fall on " + served.carrier->name.text + " with " +
        in_words(served.intermodulation) + ", " +
        (over < no_decibels ? in_words(-over) + " below" : in_words(over) + " above") +
        " its noise floor in " + in_kilohertz(served.carrier->bandwidth) + with(served);
    if (served.weakest)
      finding.sentence += " and " + in_words(*served.weakest - served.intermodulation) +
                          " below its own weakest signal";
    finding.sentence += worst_product(served, finding);
    if (const auto margin = served.margin()) {
      finding.numbers.push_back(decibels("margin", *margin));
      finding.numbers.push_back(decibels("margin wanted", served.margin_wanted(limits_)));
      finding.sentence += "; " + in_words(*margin) + " of margin are left";
    }
    finding.sentence += ".";
  }

 private:
  bool stands_in_lead(const AmplifierLoad& load) const {
    return std::ranges::any_of(node_.lead, [&](const plan::ChainPart& part) {
      const auto* amplifier = std::get_if<plan::RackAmplifier>(&part);
      return amplifier != nullptr && amplifier->name == load.amplifier;
    });
  }

  std::string worst_product(const CarrierBudget& served, Finding& finding) const {
    const auto found = tuned_.worst_product(served, gain_);
    if (!found) return "";
    const auto& physics = tuned_.physics();
    std::ranges::move(physics.makers_of(*found), std::back_inserter(finding.concerns));
    return "; the worst is " + physics.words_for(*found);
  }

  const plan::Limits& limits_;
  const plan::Node& node_;
  const TunedNode& tuned_;
  rf::Gain gain_;
  const Budget& budget_;
};

// A rule of the levels: where a budget breaks it, how many times loads do, and what is said of one
// breach. Findings come in this order.
struct LevelRule {
  Rule rule;
  void (*check)(const plan::Limits&, const Budget&, std::vector<Breach>&);
  // None where loads alone do not tell: a search works the budget out before it judges.
  void (*count)(const plan::Limits&, const TunedNode::Loads&, const GainOfLoads&, Count&);
  void (Words::*say)(std::size_t which, Finding&) const;
};
constexpr std::array level_rules{
    LevelRule{Rule::amplifier_overload, check_amplifiers, count_amplifiers, &Words::overload},
    LevelRule{Rule::chain_gain, check_chain_gain, count_chain_gains, &Words::chain_gain},
    LevelRule{Rule::receiver_overload, check_receivers, count_receivers, &Words::receiver},
    LevelRule{Rule::link_margin, check_links, nullptr, &Words::link},
    LevelRule{Rule::intermodulation_on_carrier, check_products, nullptr, &Words::intermodulation},
    LevelRule{Rule::near_compression, check_near_compression, nullptr, &Words::near_compression}};

template <class Items>
Count count_of(const Items& items) {
  Count count;
  for (const auto& item : items) {
    count.refusals += item.severity == Severity::refuse ? 1 : 0;
    count.cautions += item.severity == Severity::caution ? 1 : 0;
  }
  return count;
}

}  // namespace

std::optional<Breach> products_on(const plan::Limits& limits, const CarrierBudget& served) {
  const auto missing = missing_protection(served).value_or(no_decibels);
  const auto by = products_count_by(limits, served);
  if (by <= rounding) return std::nullopt;
  const auto margin = served.margin();
  const bool costs =
      !margin || served.margin_wanted(limits) - *margin > rounding || missing > rounding;
  return Breach{Rule::intermodulation_on_carrier, costs ? Severity::caution : Severity::note, 0,
                by};
}

std::vector<Breach> breaches(const plan::Limits& limits, const Budget& budget) {
  std::vector<Breach> all;
  for (const auto& rule : level_rules) rule.check(limits, budget, all);
  return all;
}

Count count_loads(const plan::Limits& limits, const TunedNode::Loads& loads, rf::Gain gain) {
  Count count;
  const GainOfLoads at{gain};
  for (const auto& rule : level_rules)
    if (rule.count != nullptr) rule.count(limits, loads, at, count);
  return count;
}

Count count(std::span<const Breach> breaches) { return count_of(breaches); }
Count count(std::span<const Finding> findings) { return count_of(findings); }

std::vector<Finding> judge(const plan::RackPlan& plan, const plan::Node& node,
                           const TunedNode& tuned, rf::Gain gain, const Budget& budget) {
  const Words words{plan, node, tuned, gain, budget};
  std::vector<Finding> findings;
  for (const auto& breach : breaches(plan.limits, budget)) {
    findings.push_back({breach.rule, breach.severity, node.name, {}, {}, {}});
    const auto rule = std::ranges::find(level_rules, breach.rule, &LevelRule::rule);
    (words.*rule->say)(breach.which, findings.back());
  }
  return findings;
}

std::vector<std::string> names_in(const CarrierBudget& served) {
  std::vector<std::string> names{served.carrier->name.text};
  if (served.receiver != nullptr) names.push_back(served.receiver->name.text);
  return names;
}

}  // namespace catwalk::rack
