// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/physics/advice.hpp"

#include <algorithm>
#include <optional>
#include <set>

#include "daemon/rack/physics/band_rules.hpp"
#include "daemon/rack/physics/physics_rules.hpp"
#include "daemon/rack/wording.hpp"

namespace catwalk::rack {
namespace {

using rf::Band;
using rf::Frequency;

constexpr auto raster = Frequency::kilohertz(25);       // what carriers are moved on
constexpr auto furthest = Frequency::kilohertz(2'000);  // that a carrier is moved for its products
constexpr std::size_t most_searches = 3;                // each takes some tens of milliseconds

// The least whole step that is at least `by`.
Frequency rounded_up(Frequency by) {
  return (by.hertz() + raster.hertz() - 1) / raster.hertz() * raster;
}

const plan::Carrier* find(const plan::Segment& segment, const std::string& name) {
  const auto found =
      std::ranges::find(segment.carriers, plan::CarrierName{name}, &plan::Carrier::name);
  return found == segment.carriers.end() ? nullptr : &*found;
}

double number(const Finding& finding, std::string_view name) {
  const auto found = std::ranges::find(finding.numbers, name, &Number::name);
  return found == finding.numbers.end() ? 0.0 : found->value;
}

std::string to_move(const plan::Carrier& carrier, Frequency by) {
  const bool up = by > Frequency{};
  return "Move " + carrier.name.text + (up ? " up" : " down") + " by at least " +
         in_words(up ? by : -by) + ", to " + in_words(carrier.frequency + by);
}

std::string into_window(const plan::Carrier& carrier, const Band& surely) {
  const auto band = carrier.band();
  const auto by = band.low < surely.low ? rounded_up(surely.low - band.low)
                                        : -rounded_up(band.high - surely.high);
  return to_move(carrier, by) + ", or let another antenna serve it.";
}

std::string out_of_window(const plan::Carrier& carrier, const Band& perhaps) {
  const auto band = carrier.band();
  const auto up = rounded_up(perhaps.high - band.low);
  const auto down = rounded_up(band.high - perhaps.low);
  return to_move(carrier, up < down ? up : -down) + ", out of the window.";
}

// The carriers behind the strongest product.
std::vector<std::string> makers(const plan::Segment& segment, const Finding& finding) {
  std::vector<std::string> names;
  for (const auto& name : finding.concerns)
    if (name != finding.concerns.front() && find(segment, name) != nullptr) names.push_back(name);
  return names;
}

// The smallest move that takes the products off this carrier and puts none on others that had none
// before: within this node's window, in no lane but a receive lane, free of other carriers, and
// nowhere that the published bands object to.
std::optional<Frequency> clear_of_products(const Surroundings& around, const plan::Node& node,
                                           const plan::Settings& settings,
                                           const plan::Carrier& carrier) {
  auto segment = around.segment;
  const auto moved = std::ranges::find(segment.carriers, carrier.name, &plan::Carrier::name);
  const auto surely = node.datasheet->filters[settings.filter].surely_passed(settings.centre);
  const auto others = settings_of(around);
  const auto hit = [&] {
    std::set<plan::CarrierName> names;
    const auto budget = budget_of({around.plan, segment, node, others}, settings);
    for (const auto& breach : breaches(around.plan.limits, budget))
      if (breach.rule == Rule::intermodulation_on_carrier)
        names.insert(budget.carriers[breach.which].carrier->name);
    return names;
  };
  const auto before = hit();
  const auto stands_free = [&] {
    const plan::Carrier* one = &*moved;
    return std::ranges::none_of(segment.carriers,
                                [&](const plan::Carrier& other) {
                                  return other.name != carrier.name &&
                                         other.band().overlaps(moved->band());
                                }) &&
           std::ranges::none_of(segment.lanes,
                                [&](const plan::Lane& lane) {
                                  return lane.purpose != plan::LanePurpose::receive &&
                                         lane.band.overlaps(moved->band());
                                }) &&
           check_bands(around.plan.bands, {&one, 1}, {}).empty();
  };
  for (auto by = raster; by <= furthest; by = by + raster)
    for (const auto signed_by : {by, -by}) {
      moved->frequency = carrier.frequency + signed_by;
      if (!surely.contains(moved->band()) || !stands_free()) continue;
      const auto now = hit();
      if (!now.contains(carrier.name) && std::ranges::includes(before, now)) return signed_by;
    }
  return std::nullopt;
}

}  // namespace

std::vector<std::string> advise(const Surroundings& around, const plan::Node& node,
                                const plan::Settings& settings, const Verdict& verdict) {
  std::vector<std::string> advice;
  const auto& filter = node.datasheet->filters[settings.filter];
  std::size_t searches = 0;
  for (const auto& finding : verdict.findings) {
    if (finding.severity == Severity::note || finding.concerns.empty()) continue;
    const auto* carrier = find(around.segment, finding.concerns.front());
    switch (finding.rule) {
      case Rule::carrier_outside_window:
        advice.push_back(into_window(*carrier, filter.surely_passed(settings.centre)));
        break;
      case Rule::own_transmitter_in_window:
        if (settings.power)
          advice.push_back(out_of_window(*carrier, filter.perhaps_passed(settings.centre)));
        break;
      case Rule::lane_conflict:
        advice.push_back("End lane " + finding.concerns.front() + " outside the window of " +
                         node.name.text + ", " + in_words(filter.passband(settings.centre)) +
                         ": they share " +
                         in_words(Frequency::megahertz(number(finding, "shared"))) + ".");
        break;
      case Rule::amplifier_overload: {
        const auto by = number(finding, "margin wanted") - number(finding, "margin");
        advice.push_back("All carriers together would have to come in " +
                         in_words(rf::Decibel::of(by)) + " weaker; begin with the strongest, " +
                         finding.concerns.front() +
                         ": further away, with less power, or on a frequency that the filter "
                         "rejects.");
        break;
      }
      case Rule::receiver_overload: {
        const auto by = number(finding, "margin wanted") - number(finding, "margin");
        advice.push_back("Put " + in_words(rf::Decibel::of(by)) + " of loss before receiver " +
                         finding.concerns.back() + ", or bring " + finding.concerns.front() +
                         " in as much weaker.");
        break;
      }
      case Rule::chain_gain: {
        const auto gain = number(finding, "chain gain");
        const auto missing = number(finding, "lowest") - gain;
        advice.push_back(
            missing > 0.0
                ? "The feed to receiver " + finding.concerns.back() + " would have to lose " +
                      in_words(rf::Decibel::of(missing)) + " less: shorter or better cable."
                : "The feed to receiver " + finding.concerns.back() + " would have to lose " +
                      in_words(rf::Decibel::of(gain - number(finding, "highest"))) + " more.");
        break;
      }
      case Rule::link_margin: {
        const auto by = number(finding, "margin wanted") - number(finding, "margin");
        advice.push_back(finding.concerns.front() + " would have to come in " +
                         in_words(rf::Decibel::of(by)) +
                         " stronger at its weakest: an antenna nearer to where it is used.");
        break;
      }
      case Rule::intermodulation_on_carrier:
        if (++searches > most_searches) break;
        if (const auto by = clear_of_products(around, node, settings, *carrier))
          advice.push_back(to_move(*carrier, *by) + ", where no such product falls.");
        else
          advice.push_back("No frequency within " + in_words(furthest) + " of " +
                           carrier->name.text +
                           " is free of products; move one of the carriers that make them: " +
                           listed(makers(around.segment, finding)) + ".");
        break;
      default:
        break;
    }
  }
  return advice;
}

}  // namespace catwalk::rack
