// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/advice.hpp"

#include <algorithm>
#include <map>
#include <optional>
#include <utility>

#include "daemon/rack/outlook/moves.hpp"
#include "daemon/rack/rules/band_rules.hpp"
#include "daemon/rack/rules/carrier_rules.hpp"
#include "daemon/rack/rules/link_words.hpp"
#include "daemon/rack/rules/physics_rules.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

using plan::Carrier;
using rf::Decibel;
using rf::Frequency;

constexpr std::size_t most_searches = 3;  // for a frequency, each some milliseconds
constexpr int most_proofs = 16;           // of one search, each a whole budget

double number(const Finding& finding, std::string_view name) {
  const auto found = std::ranges::find(finding.numbers, name, &Number::name);
  return found == finding.numbers.end() ? 0.0 : found->value;
}

class Advisor {
 public:
  Advisor(const Surroundings& around, const plan::Node& node, const plan::Settings& settings)
      : around_{around},
        node_{node},
        settings_{settings},
        filter_{node.datasheet->filters[settings.filter]},
        known_{physics_of(around, node)},
        physics_{known_->physics()},
        tuned_{physics_, settings},
        budget_{tuned_.at(settings.gain)} {}

  std::vector<std::string> on(const Verdict& verdict) {
    for (const auto& finding : verdict.findings)
      if (finding.severity != Severity::note && !finding.concerns.empty()) on(finding);
    for (const auto& finding : check_carriers(around_.plan, around_.segment)) on_carriers(finding);
    if (not_told_ > 0)
      say("Products fall on " + std::to_string(not_told_) +
          (not_told_ == 1 ? " more carrier" : " more carriers") + "; mend these first.");
    return std::move(advice_);
  }

 private:
  void say(std::string sentence) {
    if (std::ranges::find(advice_, sentence) == advice_.end())
      advice_.push_back(std::move(sentence));
  }

  const Carrier* find(const std::string& name) const {
    return around_.segment.find(plan::CarrierName{name});
  }

  void on(const Finding& finding) {
    const auto* carrier = find(finding.concerns.front());
    switch (finding.rule) {
      case Rule::carrier_outside_window:
        return say(into_window(*carrier, filter_.surely_passed(settings_.centre)));
      case Rule::own_transmitter_in_window:
        if (settings_.power) say(out_of_window(*carrier, filter_.perhaps_passed(settings_.centre)));
        break;
      case Rule::lane_conflict:
        say("End lane " + finding.concerns.front() + " outside the window of " + node_.name.text +
            ", " + in_words(filter_.passband(settings_.centre)) + ": they share " +
            in_words(Frequency::megahertz(number(finding, "shared"))) + ".");
        break;
      case Rule::amplifier_overload:
        say("All carriers together would have to come in " + missing_margin(finding) +
            " weaker; begin with the strongest, " + finding.concerns.front() +
            (finding.concerns.size() == 1
                 ? ": further away, with less power, or on a frequency that the filter rejects."
                 : ": further away or with less power, or a filter or a pad before " +
                       finding.concerns.back() + "."));
        break;
      case Rule::receiver_overload:
        say("Put " + missing_margin(finding) + " of loss before receiver " +
            finding.concerns.back() + ", or bring " + finding.concerns.front() +
            " in as much weaker.");
        break;
      case Rule::chain_gain:
        return on_chain_gain(finding);
      case Rule::link_margin:
        return on_link_margin(*carrier, finding);
      case Rule::near_compression:
        say("All carriers together would have to come " + missing_margin(finding) +
            " weaker into the amplifier of " + finding.concerns.back() +
            " for its products to be known.");
        break;
      case Rule::intermodulation_on_carrier:
        return on_products(*carrier);
      default:
        break;
    }
  }

  static std::string missing_margin(const Finding& finding) {
    return in_words(Decibel::of(number(finding, "margin wanted") - number(finding, "margin")));
  }

  // ---- gain ------------------------------------------------------------------------------------

  // A loss that the amplifier could make up is not what is wrong: something holds its gain down.
  void on_chain_gain(const Finding& finding) {
    const auto gain = Decibel::of(number(finding, "chain gain"));
    const auto lowest = Decibel::of(number(finding, "lowest"));
    if (gain >= lowest) {
      say("The feed to receiver " + finding.concerns.back() + " would have to lose " +
          in_words(gain - Decibel::of(number(finding, "highest"))) + " more.");
      return;
    }
    const auto up = gain_up_by(lowest - gain);
    if (up > settings_.gain && held_back_at(up)) return;
    say("The feed to receiver " + finding.concerns.back() + " would have to lose " +
        in_words(lowest - gain) + " less: shorter or better cable.");
  }

  // The next gain on a step that is this much higher; the highest allowed if that is less.
  rf::Gain gain_up_by(Decibel by) const {
    const auto& sheet = *node_.datasheet;
    const auto& limits = around_.plan.limits_of(node_);
    const auto most = limits ? std::min(limits->highest, sheet.gains.highest) : sheet.gains.highest;
    auto gain = settings_.gain;
    while (gain + sheet.gains.step <= most && Decibel::of(gain - settings_.gain) < by)
      gain = gain + sheet.gains.step;
    return gain;
  }

  // What would object to this gain; true if anything did, and it was told.
  bool held_back_at(rf::Gain gain) {
    const auto before = breaches(around_.plan.limits, budget_);
    auto settings = settings_;
    settings.gain = gain;
    Advisor there{around_, node_, settings};
    bool any = false;
    for (const auto& finding : judge(around_.plan, node_, there.tuned_, gain, there.budget_)) {
      if (finding.severity == Severity::note || finding.rule == Rule::chain_gain) continue;
      const bool here_too = std::ranges::any_of(before, [&](const Breach& breach) {
        return breach.rule == finding.rule && breach.severity == finding.severity;
      });
      if (here_too) continue;
      if (!any)
        say("The gain of " + node_.name.text + " could make up what the feed loses, but " +
            in_words(gain) + " would break " + std::string{name_of(finding.rule)} + ":");
      any = true;
      there.on(finding);
    }
    for (auto& sentence : there.advice_) say(std::move(sentence));
    return any;
  }

  // ---- what a carrier suffers from -----------------------------------------------------------

  const CarrierBudget* worst_budget_of(const Carrier& carrier) const {
    const CarrierBudget* worst = nullptr;
    for (const auto& served : budget_.carriers)
      if (served.carrier == &carrier && (worst == nullptr || served.well_off() < worst->well_off()))
        worst = &served;
    return worst;
  }

  void on_link_margin(const Carrier& carrier, const Finding& finding) {
    const auto missing = Decibel::of(number(finding, "margin wanted") - number(finding, "margin"));
    const auto* served = worst_budget_of(carrier);
    // Interference is the cause where without it nothing, or at least half, would be missing.
    if (served != nullptr && 2.0 * served->interference_costs >= missing) {
      switch (served->most_of_interference()) {
        case Interference::intermodulation:
          return on_products(carrier);
        case Interference::transmitter_noise:
          return say("An own transmitter's wide-band noise hides " + carrier.name.text +
                     ": it would have to be " + in_words(missing) +
                     " less, further away, with less power or through a filter.");
        case Interference::blocking:
          return on_blocking(carrier, *served, missing);
        case Interference::co_channel:
          return;  // the carriers' own rules say so
        case Interference::spurious_response:
          return on_stray(carrier, *served);
        case Interference::transmitter_products:
          return say_of_first(physics_.made_outside(carrier), carrier, missing);
        case Interference::brought_products:
          return say_of_first(tuned_.brought(*served, settings_.gain, 1), carrier, missing);
      }
    }
    say(carrier.name.text + " would have to come in " + in_words(missing) +
        " stronger at its weakest: an antenna nearer to where it is used.");
  }

  void on_stray(const Carrier& carrier, const CarrierBudget& served) {
    const auto worst = tuned_.strays(served, settings_.gain).front();
    const auto index = index_of(*worst.carrier);
    const auto heard = carrier.frequency + worst.response->offset;
    const auto what = "the " + in_words(*worst.response) + " of receiver " +
                      served.receiver->name.text + " for " + carrier.name.text;
    auto moved = *worst.carrier;
    const auto wide = (carrier.bandwidth + moved.bandwidth) / 2;
    int proofs = 0;
    for (auto by = raster; by <= furthest; by = by + raster)
      for (const auto signed_by : {by, -by}) {
        moved.frequency = worst.carrier->frequency + signed_by;
        const bool off = moved.frequency - heard >= wide || heard - moved.frequency >= wide;
        if (!off || !stands_free(moved, index) || ++proofs > most_proofs) continue;
        if (is_proven(moved, carrier))
          return say(to_move(*worst.carrier, signed_by) + ", off " + what + ", or filter it out.");
      }
    say("No frequency within " + in_words(furthest) + " of " + moved.name.text +
        " was found free and off " + what + ": filter it out.");
  }

  // None: they come by another antenna, and its verdict names them.
  template <class Made>
  void say_of_first(const std::vector<Made>& made, const Carrier& carrier, Decibel missing) {
    if (!made.empty()) say(apart_in_words(made.front(), carrier, missing));
  }

  void on_blocking(const Carrier& carrier, const CarrierBudget& served, Decibel missing) {
    const auto* loudest = loudest_blocker(physics_, served);
    if (loudest == nullptr) return;
    say(loudest->name.text + " blocks " + carrier.name.text + " in receiver " +
        served.receiver->name.text + ": further from it in frequency, or " + in_words(missing) +
        " weaker at this antenna.");
  }

  // ---- products --------------------------------------------------------------------------------

  void on_products(const Carrier& victim) {
    const auto* served = worst_budget_of(victim);
    if (served == nullptr) return;
    if (std::ranges::find(told_, &victim) != told_.end()) return;
    if (told_.size() == most_searches) {
      ++not_told_;
      return;
    }
    told_.push_back(&victim);
    const auto found = tuned_.worst_product(*served, settings_.gain);
    if (!found) return;
    std::vector<const Carrier*> makers;
    for (const auto& name : physics_.makers_of(*found))
      if (const auto* carrier = find(name)) makers.push_back(carrier);
    const auto made = physics_.words_for(*found) + " falls on " + victim.name.text;
    std::vector<const Carrier*> movable{&victim};
    movable.insert(movable.end(), makers.begin(), makers.end());
    for (const auto* mover : movable)
      if (const auto by = least_move(*mover, victim))
        return say(to_move(*mover, *by) + ", where no such product falls: now " + made + ".");
    std::vector<std::string> names;
    for (const auto* maker : makers) names.push_back(maker->name.text);
    say("No frequency within " + in_words(furthest) + " of " + victim.name.text + " or of " +
        listed(names) + " was found free of products; move several, or bring " + listed(names) +
        " in weaker: now " + made + ".");
  }

  std::size_t index_of(const Carrier& carrier) const {
    const auto found = std::ranges::find(physics_.carriers(), &carrier, &CarrierAtAntenna::carrier);
    return static_cast<std::size_t>(found - physics_.carriers().begin());
  }

  bool suffers(const CarrierBudget& served) const {
    const auto breach = products_on(around_.plan.limits, served);
    return breach && breach->severity != Severity::note;
  }

  std::vector<CarrierBudget> with_products(const std::vector<rf::PowerLevel>& levels) const {
    std::vector<CarrierBudget> then;
    for (std::size_t i = 0; i < levels.size(); ++i)
      then.push_back(budget_.carriers[i].with_intermodulation(levels[i]));
    return then;
  }

  // No products on `victim`, nor on others that had none before.
  bool is_clear(const Carrier& victim, const std::vector<CarrierBudget>& then) const {
    for (std::size_t i = 0; i < then.size(); ++i)
      if ((then[i].carrier->name == victim.name || !suffers(budget_.carriers[i])) &&
          suffers(then[i]))
        return false;
    return true;
  }

  // Whether more stands against it than now, by any rule: whoever moves off a product may come to
  // stand where a receiver hears beside its channel.
  bool breaks_more(const Budget& then) const {
    const auto against = [&](const Budget& budget) {
      std::map<Rule, int> counts;
      for (const auto& breach : breaches(around_.plan.limits, budget))
        if (breach.severity != Severity::note) ++counts[breach.rule];
      return counts;
    };
    auto now = against(budget_);
    return std::ranges::any_of(against(then),
                               [&](const auto& of) { return of.second > now[of.first]; });
  }

  // The smallest move of `mover` that takes the products off `victim`, which may be the same, and
  // puts none on others that had none before: within this node's window if it has to hear it and
  // out of it if it is our own transmitter, in its lane, clear of other carriers, and nowhere that
  // the published bands or any rule object to.
  std::optional<Frequency> least_move(const Carrier& mover, const Carrier& victim) const {
    const auto index = index_of(mover);
    auto tried = tuned_;
    auto moved = mover;
    int proofs = 0;
    for (auto by = raster; by <= furthest; by = by + raster)
      for (const auto signed_by : {by, -by}) {
        moved.frequency = mover.frequency + signed_by;
        if (!stands_free(moved, index)) continue;
        tried.try_carrier_at(index, moved.frequency);
        if (!is_clear(victim, with_products(tried.intermodulation_at(settings_.gain)))) continue;
        if (++proofs > most_proofs) return std::nullopt;
        if (is_proven(moved, victim)) return signed_by;
      }
    return std::nullopt;
  }

  // Elsewhere levels and losses are as where a carrier stands now: here in full.
  bool is_proven(const Carrier& moved, const Carrier& victim) const {
    auto segment = around_.segment;
    *segment.find(moved.name) = moved;
    const auto budget = budget_of({around_.plan, segment, node_, settings_of(around_)}, settings_);
    return is_clear(victim, budget.carriers) && !breaks_more(budget);
  }

  bool stands_free(const Carrier& moved, std::size_t index) const {
    if (physics_.carriers()[index].served &&
        !filter_.surely_passed(settings_.centre).contains(moved.band()))
      return false;
    if (moved.use == plan::CarrierUse::transmit &&
        filter_.perhaps_passed(settings_.centre).overlaps(moved.band()))
      return false;
    const Carrier* there = &moved;
    return check_carrier(around_.plan, around_.segment, moved).empty() &&
           check_bands(around_.plan, {&there, 1}, {}).empty();
  }

  // ---- carriers among themselves ---------------------------------------------------------------

  void on_carriers(const Finding& finding) {
    if (finding.severity == Severity::note) return;
    std::vector<const Carrier*> ours;
    for (const auto& name : finding.concerns)
      if (const auto* carrier = find(name)) ours.push_back(carrier);
    if (std::ranges::none_of(ours, [&](const Carrier* carrier) {
          return physics_.carriers()[index_of(*carrier)].served;
        }))
      return;
    for (const auto* carrier : ours)
      if (const auto by = least_move(*carrier, *carrier))
        return say(to_move(*carrier, *by) + ": " + finding.sentence);
    say("No frequency within " + in_words(furthest) + " was found free: " + finding.sentence);
  }

  const Surroundings& around_;
  const plan::Node& node_;
  plan::Settings settings_;
  const plan::Filter& filter_;
  std::shared_ptr<const KnownPhysics::Node> known_;
  const NodePhysics& physics_;
  TunedNode tuned_;
  Budget budget_;
  std::vector<std::string> advice_;
  std::vector<const Carrier*> told_;  // whose products were spoken of
  std::size_t not_told_ = 0;          // and of how many they were not
};

}  // namespace

std::vector<std::string> advise(const Surroundings& around, const plan::Node& node,
                                const plan::Settings& settings, const Verdict& verdict) {
  return Advisor{around, node, settings}.on(verdict);
}

}  // namespace catwalk::rack
