// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/outlook/spectrum.hpp"

#include <algorithm>

#include "daemon/rack/outlook/explain.hpp"
#include "daemon/rack/rules/rules.hpp"
#include "daemon/rack/way/live_between.hpp"
#include "daemon/rf/noise.hpp"

namespace catwalk::rack {
namespace {

constexpr std::size_t most_on_one_carrier = 3;

// At the receiver that has most of it; null: no receiver must hear it through this node.
const CarrierBudget* worst_of(const Budget& budget, const plan::Carrier& carrier) {
  const CarrierBudget* worst = nullptr;
  for (const auto& served : budget.carriers)
    if (served.carrier == &carrier &&
        (worst == nullptr || served.intermodulation > worst->intermodulation))
      worst = &served;
  return worst;
}

void add_products(NodeSpectrum& node, const NodePhysics& physics, const plan::Settings& settings) {
  const TunedNode tuned{physics, settings};
  const auto budget = tuned.at(settings.gain);
  for (const auto& at_antenna : physics.carriers()) {
    const auto& carrier = *at_antenna.carrier;
    const auto* worst = worst_of(budget, carrier);
    const auto floor = rf::thermal_noise(carrier.bandwidth) - worth_telling;
    if (worst == nullptr || worst->intermodulation < floor) continue;
    for (auto& product : products_of(tuned, *worst, settings.gain, most_on_one_carrier))
      node.products.push_back(
          {std::move(product.carriers), product.at, product.level, carrier.name, product.order});
  }
}

std::vector<ThroughNode> through(const plan::Segment& segment, const plan::Node& node,
                                 const plan::Settings& settings, const NodeResponse& response) {
  const auto highest = std::ranges::max_element(response.points, {}, &rf::CurvePoint::gain)->gain;
  const NodeGain gain{node, settings};
  std::vector<ThroughNode> all;
  for (const auto& carrier : segment.carriers) {
    const auto at = gain.at(carrier.frequency);
    // Between two points of the response it may be a hair higher than at any.
    all.push_back({at, std::max(rf::Decibel{}, highest - at)});
  }
  return all;
}

}  // namespace

NodePicture picture_of(const plan::RackPlan& plan, const plan::Segment& segment,
                       const plan::Node& node, const plan::Settings& settings,
                       const rf::Band& span) {
  NodePicture picture{
      response_of(node, settings, span), own_carriers(plan, segment, node.name), {}, {}};
  picture.window = window_on(segment, picture.own, *node.datasheet, settings);
  picture.through = through(segment, node, settings, picture.response);
  return picture;
}

std::vector<NodeSpectrum> spectrum_of(const plan::RackPlan& plan, const plan::Segment& segment,
                                      const SettingsOf& settings, const rf::Band& span,
                                      const ForEach& for_each) {
  std::vector<NodeSpectrum> all(plan.nodes.size());
  for_each(plan.nodes.size(), [&](std::size_t i) {
    const auto& node = plan.nodes[i];
    auto& spectrum = all[i];
    spectrum.node = node.name;
    const NodePhysics physics{plan, segment, node, settings};
    for (const auto& carrier : physics.carriers()) spectrum.levels.push_back(carrier.strongest);
    const auto now = settings(node.name);
    if (!now) return;
    spectrum.passive = !now->power;
    if (!check_datasheet(node, *now).empty() && !spectrum.passive) return;
    spectrum.picture = picture_of(plan, segment, node, *now, span);
    add_products(spectrum, physics, *now);
  });
  return all;
}

std::vector<bool> live_in(const plan::Segment& segment, const plan::Segment& active,
                          const plan::Segment* entered) {
  std::vector<const plan::Carrier*> live;
  if (entered == nullptr)
    for (const auto& carrier : active.carriers) live.push_back(&carrier);
  else
    for (const auto& carrier : live_between(active, *entered)) live.push_back(&carrier.any());
  std::vector<bool> are;
  for (const auto& carrier : segment.carriers)
    are.push_back(std::ranges::any_of(
        live, [&](const plan::Carrier* other) { return plan::is_same_signal(carrier, *other); }));
  return are;
}

}  // namespace catwalk::rack
