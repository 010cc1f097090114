// SPDX-License-Identifier: Apache-2.0
#include "daemon/plan/matrix_settings.hpp"

namespace catwalk::plan {
namespace {

template <class Value>
void take(std::map<std::size_t, Value>& all, const std::map<std::size_t, Value>& more) {
  for (const auto& [socket, value] : more) all.insert_or_assign(socket, value);
}

// set(socket, value) for each that is there.
template <class Sockets, class Value, class Set>
void for_each_asked(Sockets& sockets, const std::map<std::size_t, Value>& asked, const Set& set) {
  for (const auto& [number, value] : asked)
    if (number >= 1 && number <= sockets.size()) set(sockets[number - 1], value);
}

}  // namespace

MatrixPatch MatrixPatch::with(const MatrixPatch& more) const {
  auto both = *this;
  take(both.routes, more.routes);
  take(both.trims, more.trims);
  take(both.supplies_mv, more.supplies_mv);
  take(both.labels, more.labels);
  if (more.label) both.label = more.label;
  return both;
}

MatrixSettings patched(MatrixSettings base, const MatrixPatch& patch) {
  for_each_asked(base.outputs, patch.routes,
                 [](Inputs& output, const Inputs& inputs) { output = inputs; });
  for_each_asked(base.inputs, patch.trims,
                 [](InputSettings& input, rf::Gain trim) { input.trim = trim; });
  for_each_asked(base.inputs, patch.supplies_mv,
                 [](InputSettings& input, std::uint16_t supply) { input.supply_mv = supply; });
  for_each_asked(base.inputs, patch.labels,
                 [](InputSettings& input, const std::string& label) { input.label = label; });
  if (patch.label) base.label = *patch.label;
  return base;
}

}  // namespace catwalk::plan
