// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/carriers_at.hpp"

#include <algorithm>

namespace catwalk::rack {

bool has_to_bring(const plan::RackPlan& plan, const plan::NodeName& node,
                  const plan::Carrier& carrier) {
  return carrier.use == plan::CarrierUse::receive &&
         std::ranges::any_of(carrier.receivers, [&](const plan::ReceiverName& name) {
           const auto* receiver = plan.find(name);
           return receiver != nullptr && plan::RackPlan::serves(*receiver, node);
         });
}

CarrierNames own_carriers(const plan::RackPlan& plan, const plan::Segment& segment,
                          const plan::NodeName& node) {
  CarrierNames own;
  for (const auto& carrier : segment.carriers)
    if (has_to_bring(plan, node, carrier)) own.push_back(carrier.name);
  return own;
}

WindowOnCarriers window_on(const plan::Segment& segment, const CarrierNames& own,
                           const plan::Datasheet& datasheet, const plan::Settings& in_force) {
  WindowOnCarriers on;
  const auto& filters = datasheet.filters;
  const auto* filter = in_force.filter < filters.size() ? &filters[in_force.filter] : nullptr;
  auto next_own = own.begin();  // in the same order
  for (const auto& carrier : segment.carriers) {
    const bool is_passed =
        !in_force.power ||
        (filter != nullptr && filter->surely_passed(in_force.centre).contains(carrier.band()));
    const bool comes_in =
        !in_force.power ||
        (filter != nullptr && filter->perhaps_passed(in_force.centre).overlaps(carrier.band()));
    const bool is_own = next_own != own.end() && *next_own == carrier.name;
    if (is_own) ++next_own;
    if (is_passed) on.passed.push_back(carrier.name);
    if (is_own && !is_passed) on.outside.push_back(carrier.name);
    if (comes_in && carrier.use == plan::CarrierUse::transmit) on.let_in.push_back(carrier.name);
  }
  return on;
}

}  // namespace catwalk::rack
