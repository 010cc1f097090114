// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/rules_by_hand.hpp"

#include <algorithm>

#include "daemon/rack/levels/tuned_node.hpp"
#include "tests/simulation/words.hpp"

namespace catwalk::simulation {
namespace {

// What no sentence could show passes no limit.
constexpr auto rounding = rf::Decibel::of(0.1);

bool is_routed(const plan::Branch& branch, const plan::Node& node, const RoutesOf& routes) {
  if (!branch.from || !node.ends_at || node.ends_at->matrix != branch.from->matrix) return false;
  const auto* set = routes(branch.from->matrix);
  return set != nullptr &&
         std::ranges::count(set->outputs[branch.from->output - 1], node.ends_at->input) > 0;
}

bool hears(const plan::RackPlan& plan, const plan::Node& node, const plan::Carrier& carrier,
           const RoutesOf& routes) {
  for (const auto& name : carrier.receivers)
    for (const auto& branch : plan.find(name)->branches)
      if (std::ranges::count(branch.nodes, node.name) > 0 || is_routed(branch, node, routes))
        return true;
  return false;
}

std::optional<std::string> window_trouble(const plan::RackPlan& plan, const plan::Segment& segment,
                                          const plan::Node& node, const plan::Settings& settings,
                                          const RoutesOf& routes) {
  const auto& filter = node.datasheet->filters[settings.filter];
  const double middle = filter.tuning ? settings.centre.megahertz()
                                      : (filter.fixed.low + filter.fixed.high).megahertz() / 2;
  const double half = filter.width.megahertz() / 2;
  const double skirt = filter.skirt.megahertz();
  for (const auto& carrier : segment.carriers) {
    const double beside = std::abs(carrier.frequency.megahertz() - middle);
    const double own = carrier.bandwidth.megahertz() / 2;
    const bool receives = carrier.use == plan::CarrierUse::receive;
    if (receives && hears(plan, node, carrier, routes) && beside + own > half - skirt + 1e-9)
      return "its window loses " + carrier.name.text;
    if (!receives && beside - own < half + skirt - 1e-9)
      return "its window lets in our own " + carrier.name.text;
  }
  return std::nullopt;
}

// What a unit of this type cannot be set to.
std::optional<std::string> no_such_settings(const plan::MatrixSheet& sheet,
                                            const plan::MatrixSettings& settings) {
  if (settings.outputs.size() != sheet.outputs || settings.inputs.size() != sheet.inputs)
    return "it has other sockets";
  for (const auto& taken : settings.outputs) {
    if (taken.size() > sheet.combining_losses.size()) return "an output takes too many inputs";
    for (const auto input : taken)
      if (input < 1 || input > sheet.inputs) return "an output takes an input that it has not";
  }
  if (settings.label.size() > 16) return "the label is longer than a unit keeps";
  for (const auto& input : settings.inputs) {
    const auto trim = input.trim.centidecibels();
    const bool on_step = sheet.trims ? trim >= sheet.trims->lowest.centidecibels() && trim <= 0 &&
                                           (trim - sheet.trims->lowest.centidecibels()) %
                                                   sheet.trims->step.centidecibels() ==
                                               0
                                     : trim == 0;
    if (!on_step) return "no input has a trim of " + number(input.trim.decibels()) + " dB";
    const bool gives =
        input.supply_mv == 0 ||
        (sheet.supply && std::ranges::count(sheet.supply->millivolts, input.supply_mv) > 0);
    if (!gives) return "no input feeds " + std::to_string(input.supply_mv) + " mV";
    if (input.label.size() > 16) return "a label is longer than a unit keeps";
  }
  return std::nullopt;
}

// A receiver all of whose antennas come over this unit, and that is to hear somebody.
bool is_deaf(const plan::RackPlan& plan, const plan::Segment& segment,
             const plan::Receiver& receiver, const plan::Matrix& matrix,
             const plan::MatrixSettings& settings) {
  const bool hears_somebody =
      std::ranges::any_of(segment.carriers, [&](const plan::Carrier& carrier) {
        return carrier.use == plan::CarrierUse::receive &&
               std::ranges::count(carrier.receivers, receiver.name) > 0;
      });
  return hears_somebody && std::ranges::all_of(receiver.branches, [&](const plan::Branch& branch) {
           if (!branch.from || branch.from->matrix != matrix.name) return false;
           return std::ranges::none_of(plan.nodes, [&](const plan::Node& node) {
             return is_routed(branch, node, [&](const auto&) { return &settings; });
           });
         });
}

std::optional<std::string> refused_of_matrix(const plan::RackPlan& plan,
                                             const plan::Segment& segment,
                                             const plan::Matrix& matrix,
                                             const plan::MatrixSettings& settings) {
  for (const auto& node : plan.nodes) {
    if (!node.ends_at || node.ends_at->matrix != matrix.name || !node.datasheet->supply) continue;
    const auto fed = settings.inputs[node.ends_at->input - 1].supply_mv;
    const auto& takes = *node.datasheet->supply;
    if (fed != 0 && (fed < takes.lowest_mv || fed > takes.highest_mv))
      return node.name.text + " does not take " + std::to_string(fed) + " mV";
  }
  for (const auto& receiver : plan.receivers)
    if (is_deaf(plan, segment, receiver, matrix, settings))
      return receiver.name.text + " has no antenna left";
  return std::nullopt;
}

std::optional<std::string> refused_of_node(const plan::RackPlan& plan, const plan::Segment& segment,
                                           const plan::Node& node, const plan::Settings& settings,
                                           const RoutesOf& routes) {
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
  if (auto trouble = window_trouble(plan, segment, node, settings, routes)) return trouble;

  const rack::NodePhysics physics{plan, segment, node,
                                  [](const plan::NodeName&) { return std::nullopt; }};
  const rack::TunedNode tuned{physics, settings.filter, settings.centre};
  for (const auto& load : tuned.amplifiers_at(gain))
    if (load.amplifier == node.name.text && load.margin() < -rounding)
      return "its amplifier is driven past its compression point";
  return std::nullopt;
}

}  // namespace

std::optional<std::string> refused_by_hand(const plan::RackPlan& plan, const plan::Segment& segment,
                                           const plan::Device& device,
                                           const plan::NodeSettings& settings,
                                           const RoutesOf& routes, bool supplied) {
  if (const auto* node = device.amplifier())
    return refused_of_node(plan, segment, *node, *settings.amplifier(), routes);
  const auto& matrix = *device.matrix();
  if (auto trouble = no_such_settings(*matrix.sheet, *settings.matrix())) return trouble;
  return supplied ? refused_of_matrix(plan, segment, matrix, *settings.matrix()) : std::nullopt;
}

}  // namespace catwalk::simulation
