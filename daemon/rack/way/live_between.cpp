// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/way/live_between.hpp"

#include <algorithm>
#include <unordered_map>

#include "daemon/rack/levels/carrier_levels.hpp"
#include "daemon/rack/levels/transmitter_products.hpp"

namespace catwalk::rack {
namespace {

bool equally_loud(const plan::Carrier& a, const plan::Carrier& b) {
  return a.erp == b.erp && a.nearest == b.nearest && a.farthest == b.farthest &&
         a.place == b.place && a.height == b.height && a.isolations == b.isolations &&
         a.extra_loss == b.extra_loss;
}

std::optional<rf::PowerLevel> level_of(const plan::RackPlan& plan, const plan::Node& node,
                                       const plan::Carrier& carrier) {
  plan::Segment alone;
  alone.carriers = {carrier};
  return carriers_at(plan, alone, node).front().strongest;
}

// No level is known of it: the other one is taken.
const plan::Carrier& louder(const plan::RackPlan& plan, const plan::Node& node,
                            const LiveCarrier& live) {
  if (!live.stays()) return live.any();
  if (equally_loud(*live.left, *live.entered)) return *live.entered;
  const auto left = level_of(plan, node, *live.left);
  const auto entered = level_of(plan, node, *live.entered);
  return left && (!entered || *entered < *left) ? *live.left : *live.entered;
}

// Of what one that stays on the air brings along beside its level, the worse of both.
void take_worse(plan::Carrier& carrier, const plan::Carrier& left, const plan::Carrier& entered) {
  const auto loss = [](const plan::Carrier& each) {
    return each.conversion_loss.value_or(usual_conversion_loss);
  };
  carrier.conversion_loss = std::min(loss(left), loss(entered));
  carrier.isolations_from = left.isolations_from;
  for (const auto& [name, isolation] : entered.isolations_from) {
    const auto [at, is_new] = carrier.isolations_from.emplace(name, isolation);
    if (!is_new) at->second = std::min(at->second, isolation);
  }
  carrier.noise_density = std::max(left.noise_density, entered.noise_density);
  const bool wider = left.emission().power_twice() > entered.emission().power_twice();
  carrier.modulation = wider ? left.modulation : entered.modulation;
}

}  // namespace

rf::Band LiveCarrier::band() const {
  if (!stays()) return any().band();
  return rf::Band::around(left->frequency, std::max(left->bandwidth, entered->bandwidth));
}

std::vector<plan::ReceiverName> LiveCarrier::receivers() const {
  if (!stays()) return {};
  std::vector<plan::ReceiverName> both;
  for (const auto& name : left->receivers)
    if (std::ranges::find(entered->receivers, name) != entered->receivers.end())
      both.push_back(name);
  return both;
}

std::vector<LiveCarrier> live_between(const plan::Segment& left, const plan::Segment& entered) {
  std::unordered_map<plan::CarrierName, const plan::Carrier*> after;
  for (const auto& carrier : entered.carriers) after.emplace(carrier.name, &carrier);
  std::unordered_map<plan::CarrierName, const plan::Carrier*> stay;
  std::vector<LiveCarrier> live;
  for (const auto& carrier : left.carriers) {
    const auto found = after.find(carrier.name);
    if (found != after.end() && plan::is_same_signal(carrier, *found->second)) {
      live.push_back({&carrier, found->second});
      stay.emplace(carrier.name, &carrier);
    } else if (carrier.late) {
      live.push_back({&carrier, nullptr});
    }
  }
  for (const auto& carrier : entered.carriers)
    if (carrier.early && !stay.contains(carrier.name)) live.push_back({nullptr, &carrier});
  return live;
}

plan::Segment segment_between(const plan::RackPlan& plan, const plan::Segment& left,
                              const plan::Segment& entered, const std::vector<LiveCarrier>& live,
                              const plan::Node& node) {
  plan::Segment between;
  between.name = {left.name.text + " to " + entered.name.text};
  between.title = between.name.text;
  for (const auto& lane : left.lanes)
    if (std::ranges::find(entered.lanes, lane) != entered.lanes.end())
      between.lanes.push_back(lane);
  between.carriers.reserve(live.size());
  for (const auto& on_air : live) {
    between.carriers.push_back(louder(plan, node, on_air));
    auto& carrier = between.carriers.back();
    if (on_air.stays()) take_worse(carrier, *on_air.left, *on_air.entered);
    carrier.bandwidth = on_air.band().width();
    carrier.receivers = on_air.receivers();
  }
  return between;
}

}  // namespace catwalk::rack
