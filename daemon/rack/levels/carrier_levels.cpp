// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/levels/carrier_levels.hpp"

#include <algorithm>
#include <set>

namespace catwalk::rack {
namespace {

std::set<plan::ReceiverName> receivers_on(const plan::RackPlan& plan, const plan::NodeName& node) {
  std::set<plan::ReceiverName> names;
  for (const auto& receiver : plan.receivers)
    if (plan::RackPlan::serves(receiver, node)) names.insert(receiver.name);
  return names;
}

std::optional<rf::Metres> distance_of(const plan::Carrier& carrier, const plan::Node& node,
                                      const std::optional<rf::Metres>& said) {
  if (said) return said;
  if (carrier.place && node.place) return plan::distance(*carrier.place, *node.place);
  return std::nullopt;
}

// Nothing: not known. Config has checked the ranges of whatever the files say.
std::optional<rf::Reception> reception_over(rf::Path path, const plan::Carrier& carrier,
                                            const plan::Node& node,
                                            const std::optional<rf::Metres>& said) {
  if (!carrier.erp) return std::nullopt;
  if (const auto measured = carrier.isolations.find(node.name);
      measured != carrier.isolations.end())
    path.measured_isolation = measured->second;
  else if (path.distance = distance_of(carrier, node, said); !path.distance)
    return std::nullopt;
  const auto received =
      rf::received(rf::Erp::of(*carrier.erp), carrier.frequency, path, node.antenna_gain_dbi());
  return received ? std::optional{*received} : std::nullopt;
}

}  // namespace

rf::Propagation propagation_between(const plan::RackPlan& plan, const plan::Carrier& carrier,
                                    const plan::Node& node) {
  auto way = plan.propagation;
  if (auto* surface = std::get_if<rf::TwoRay>(&way)) {
    surface->antenna_height = node.height.value_or(surface->antenna_height);
    surface->carrier_height = carrier.height.value_or(surface->carrier_height);
  }
  return way;
}

std::vector<CarrierAtAntenna> carriers_at(const plan::RackPlan& plan, const plan::Segment& segment,
                                          const plan::Node& node) {
  const auto receivers = receivers_on(plan, node.name);
  std::vector<CarrierAtAntenna> all;
  all.reserve(segment.carriers.size());
  for (const auto& carrier : segment.carriers) {
    const bool receive = carrier.use == plan::CarrierUse::receive;
    CarrierAtAntenna arriving{&carrier};
    arriving.served = receive && std::ranges::any_of(carrier.receivers, [&](const auto& name) {
                        return receivers.contains(name);
                      });
    rf::Path path{.over = propagation_between(plan, carrier, node)};
    if (const auto nearest = reception_over(path, carrier, node, carrier.nearest)) {
      arriving.strongest = nearest->level;
      arriving.strongest_from = nearest->from;
    }
    path.level = rf::Path::Level::weakest;
    path.extra_loss = carrier.extra_loss;
    if (const auto farthest = reception_over(path, carrier, node, carrier.farthest);
        receive && farthest)
      arriving.weakest = farthest->level;
    all.push_back(arriving);
  }
  return all;
}

double noise_density_of(const std::vector<CarrierAtAntenna>& carriers) {
  double sum = 0.0;
  for (const auto& carrier : carriers)
    if (carrier.carrier->noise_density && carrier.strongest)
      sum += rf::milliwatts(*carrier.strongest + *carrier.carrier->noise_density);
  return sum;
}

}  // namespace catwalk::rack
