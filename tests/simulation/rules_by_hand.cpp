// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/rules_by_hand.hpp"

#include <algorithm>

#include "daemon/rack/levels/tuned_node.hpp"
#include "tests/simulation/words.hpp"

namespace catwalk::simulation {
namespace {

// What no sentence could show passes no limit.
constexpr auto rounding = rf::Decibel::of(0.1);

bool hears(const plan::RackPlan& plan, const plan::Node& node, const plan::Carrier& carrier) {
  for (const auto& name : carrier.receivers)
    for (const auto& branch : plan.find(name)->branches)
      if (std::ranges::count(branch.nodes, node.name) > 0) return true;
  return false;
}

std::optional<std::string> window_trouble(const plan::RackPlan& plan, const plan::Segment& segment,
                                          const plan::Node& node, const plan::Settings& settings) {
  const auto& filter = node.datasheet->filters[settings.filter];
  const double middle = filter.tuning ? settings.centre.megahertz()
                                      : (filter.fixed.low + filter.fixed.high).megahertz() / 2;
  const double half = filter.width.megahertz() / 2;
  const double skirt = filter.skirt.megahertz();
  for (const auto& carrier : segment.carriers) {
    const double beside = std::abs(carrier.frequency.megahertz() - middle);
    const double own = carrier.bandwidth.megahertz() / 2;
    const bool receives = carrier.use == plan::CarrierUse::receive;
    if (receives && hears(plan, node, carrier) && beside + own > half - skirt + 1e-9)
      return "its window loses " + carrier.name.text;
    if (!receives && beside - own < half + skirt - 1e-9)
      return "its window lets in our own " + carrier.name.text;
  }
  return std::nullopt;
}

}  // namespace

std::optional<std::string> refused_by_hand(const plan::RackPlan& plan, const plan::Segment& segment,
                                           const plan::Node& node, const plan::Settings& settings) {
  const auto& sheet = *node.datasheet;
  const auto gain = settings.gain;
  if (gain < sheet.gains.lowest || gain > sheet.gains.highest ||
      (gain - sheet.gains.lowest).centidecibels() % sheet.gains.step.centidecibels() != 0)
    return "its datasheet has no gain of " + number(gain.decibels()) + " dB";
  const auto& limits = node.gain_limits ? node.gain_limits : plan.gain_limits;
  if (limits && (gain < limits->lowest || gain > limits->highest))
    return number(gain.decibels()) + " dB is beyond the limits of the rack file";
  if (settings.filter >= sheet.filters.size()) return "there is no such filter";
  const auto& filter = sheet.filters[settings.filter];
  const auto centre = settings.centre;
  const bool tuned_right =
      filter.tuning
          ? centre >= filter.tuning->lowest && centre <= filter.tuning->highest &&
                (centre - filter.tuning->lowest).hertz() % filter.tuning->step.hertz() == 0
          : centre == rf::Frequency{};
  if (!tuned_right) return "the filter cannot be tuned to " + number(centre.megahertz()) + " MHz";
  if (settings.label.size() > 16) return "the label is longer than a node keeps";
  if (!settings.power) return std::nullopt;
  if (auto trouble = window_trouble(plan, segment, node, settings)) return trouble;

  const rack::NodePhysics physics{plan, segment, node,
                                  [](const plan::NodeName&) { return std::nullopt; }};
  const rack::TunedNode tuned{physics, settings.filter, settings.centre};
  for (const auto& load : tuned.amplifiers_at(gain))
    if (load.amplifier == node.name.text && load.margin() < -rounding)
      return "its amplifier is driven past its compression point";
  return std::nullopt;
}

}  // namespace catwalk::simulation
