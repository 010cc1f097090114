// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/device.hpp"

#include <algorithm>
#include <iterator>

namespace catwalk::plan {
namespace {

bool is_set_from_here(const Matrix& matrix) { return matrix.on_line.has_value(); }

}  // namespace

std::size_t count_devices(const RackPlan& plan) {
  return plan.nodes.size() +
         static_cast<std::size_t>(std::ranges::count_if(plan.matrices, is_set_from_here));
}

std::optional<Device> device_named(const RackPlan& plan, const NodeName& name) {
  if (const auto* node = plan.find(name)) return Device{*node};
  const auto* matrix = plan.find_matrix(name);
  if (matrix == nullptr || !is_set_from_here(*matrix)) return std::nullopt;
  return Device{*matrix};
}

Device device_at(const RackPlan& plan, std::size_t place) {
  if (place < plan.nodes.size()) return Device{plan.nodes[place]};
  auto left = place - plan.nodes.size();
  const auto found = std::ranges::find_if(plan.matrices, [&left](const Matrix& matrix) {
    return is_set_from_here(matrix) && left-- == 0;
  });
  return Device{*found};
}

}  // namespace catwalk::plan
