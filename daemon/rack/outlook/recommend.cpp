// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/recommend.hpp"

#include <algorithm>
#include <functional>
#include <map>
#include <memory>
#include <optional>

#include "daemon/rack/outlook/advice.hpp"
#include "daemon/rack/rules/physics_rules.hpp"

namespace catwalk::rack {
namespace {

using plan::Settings;
using rf::Decibel;

// What holds a gain down, of the rules that can.
std::optional<LimitedBy> limit_by(Rule rule) {
  switch (rule) {
    case Rule::amplifier_overload:
      return LimitedBy::amplifier_overload;
    case Rule::receiver_overload:
      return LimitedBy::receiver_overload;
    case Rule::intermodulation_on_carrier:
    case Rule::near_compression:
      return LimitedBy::intermodulation;
    case Rule::chain_gain:
      return LimitedBy::chain_gain;
    default:
      return std::nullopt;
  }
}

// Of settings that are not clean: the first of them that objects.
std::optional<LimitedBy> objection(const Verdict& verdict) {
  for (const auto& finding : verdict.findings)
    if (const auto limit = limit_by(finding.rule); limit && finding.severity != Severity::note)
      return limit;
  return std::nullopt;
}

LimitedBy limit_of(const CarrierBudget& worst, const Room& room) {
  // A decibel of sensitivity, lost to something that can be named.
  if (worst.interference_costs >= Decibel::of(1.0)) {
    switch (worst.most_of_interference()) {
      case Interference::intermodulation:
        return LimitedBy::intermodulation;
      case Interference::transmitter_noise:
        return LimitedBy::transmitter_noise;
      case Interference::blocking:
        return LimitedBy::blocking;
      case Interference::co_channel:
        return LimitedBy::co_channel;
      case Interference::spurious_response:
        return LimitedBy::spurious_response;
      case Interference::transmitter_products:
        return LimitedBy::transmitter_products;
      case Interference::brought_products:
        return LimitedBy::brought_products;
    }
  }
  return limit_by(room.up_stops.value_or(Rule::gain_limit)).value_or(LimitedBy::noise);
}

bool is_clean(const Verdict& verdict) {
  return !verdict.has(Severity::refuse) && !verdict.has(Severity::caution);
}

// All but its advice.
Recommendation settle(const Surroundings& around, const plan::Node& node,
                      const plan::Settings& base, const StillWanted& still_wanted) {
  SettingsSearch search{around, node, base, still_wanted};
  if (!search.serves_any()) {
    Recommendation none{node.name, base, check(around, node, base)};
    none.clean = is_clean(none.verdict);
    return none;
  }
  const auto found = search.best();
  if (!found) return {node.name, base, {}};
  const auto& best = *found;
  Recommendation answer{node.name, best.settings, check(around, node, best.settings)};
  answer.clean = is_clean(answer.verdict);
  if (best.against == Count{}) answer.room = search.room_around(best.settings);
  const auto budget = budget_of(search.physics(), best.settings);
  if (const auto* worst = worst_of(budget)) {
    answer.worst = worst->carrier->name;
    answer.margin = worst->margin();
    const bool known = std::ranges::any_of(search.physics().carriers(), [](const auto& carrier) {
      return carrier.served && carrier.weakest.has_value();
    });
    answer.limited_by = known ? objection(answer.verdict).value_or(limit_of(*worst, answer.room))
                              : LimitedBy::nothing_known;
  }
  return answer;
}

void advise_on(const Surroundings& around, const plan::Node& node, Recommendation& answer) {
  if (!answer.worst.text.empty())
    answer.advice = advise(around, node, answer.settings, answer.verdict);
}

Surroundings for_one_thread(Surroundings around) {
  around.physics = std::make_shared<KnownPhysics>();
  return around;
}

// By a combiner, or by diversity where that counts.
bool depends_on_others(const plan::RackPlan& plan, const plan::NodeName& node) {
  return std::ranges::any_of(plan.receivers, [&](const plan::Receiver& receiver) {
    if (plan.limits.link_availability && receiver.branches.size() > 1 &&
        plan::RackPlan::serves(receiver, node))
      return true;
    return std::ranges::any_of(receiver.branches, [&](const plan::Branch& branch) {
      return branch.nodes.size() > 1 && std::ranges::find(branch.nodes, node) != branch.nodes.end();
    });
  });
}

}  // namespace

Recommendation recommend(const Surroundings& around, const plan::Node& node,
                         const plan::Settings& base, const StillWanted& still_wanted) {
  // The lock says whether something may be set now, not what would be good.
  auto unlocked = around;
  unlocked.locked = false;
  auto answer = settle(unlocked, node, base, still_wanted);
  advise_on(unlocked, node, answer);
  return answer;
}

void one_after_the_other(std::size_t count, const std::function<void(std::size_t)>& work) {
  for (std::size_t i = 0; i < count; ++i) work(i);
}

std::vector<Recommendation> recommend_segment(const plan::RackPlan& plan,
                                              const plan::Segment& segment, const SettingsOf& base,
                                              const ForEach& for_each,
                                              const StillWanted& still_wanted) {
  std::map<plan::NodeName, Settings> chosen;
  for (const auto& node : plan.nodes) chosen[node.name] = base(node.name).value_or(Settings{});
  const Surroundings together{plan, segment,
                              [&chosen](const plan::NodeName& name) {
                                const auto found = chosen.find(name);
                                return found == chosen.end() ? PossibleSettings{}
                                                             : PossibleSettings{found->second};
                              },
                              false};
  std::vector<Recommendation> answers(plan.nodes.size());
  const auto settle_one = [&](const Surroundings& around, std::size_t i) {
    const auto& node = plan.nodes[i];
    answers[i] = settle(around, node, chosen.at(node.name), still_wanted);
  };
  for_each(answers.size(), [&](std::size_t i) { settle_one(for_one_thread(together), i); });
  for (std::size_t i = 0; i < answers.size(); ++i) chosen[plan.nodes[i].name] = answers[i].settings;
  // Nodes on one combiner, or of one receiver, once more, now with what the others were given.
  std::vector<std::size_t> shared;
  for (std::size_t i = 0; i < answers.size(); ++i)
    if (depends_on_others(plan, plan.nodes[i].name)) shared.push_back(i);
  // One after the other, until nobody moves any more: then each answer holds beside the others.
  constexpr int most_rounds = 6;
  std::vector<std::shared_ptr<const KnownPhysics::Node>> settled_with(answers.size());
  bool moved = !shared.empty();
  for (int round = 0; moved && round < most_rounds && still_wanted(); ++round) {
    moved = false;
    for (const auto i : shared) {
      auto known = physics_of(together, plan.nodes[i]);
      if (known == settled_with[i]) continue;  // nobody beside it has moved since
      settled_with[i] = std::move(known);
      settle_one(together, i);
      auto& settings = chosen[plan.nodes[i].name];
      moved = moved || settings != answers[i].settings;
      settings = answers[i].settings;
    }
  }
  if (!still_wanted()) return answers;
  for_each(answers.size(), [&](std::size_t i) {
    const auto around = for_one_thread(together);
    answers[i].verdict = check(around, plan.nodes[i], answers[i].settings);
    answers[i].clean = is_clean(answers[i].verdict);
    advise_on(around, plan.nodes[i], answers[i]);
  });
  // Those that chase each other round and round are promised no room.
  if (moved)
    for (const auto i : shared) answers[i].room = {};
  return answers;
}

}  // namespace catwalk::rack
