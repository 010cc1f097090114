// SPDX-License-Identifier: Apache-2.0
#include "web/server/feed/node_patch.hpp"

#include <algorithm>
#include <initializer_list>
#include <utility>

namespace catwalk::web {
namespace {

// No member of ours is null, so that each document can be told so.
Json merge_patch_between(const Json& before, const Json& after) {
  if (!before.is_object() || !after.is_object()) return after;
  Json patch = Json::object();
  for (const auto& [name, ignored] : before.items())
    if (!after.contains(name)) patch[name] = nullptr;
  for (const auto& [name, value] : after.items()) {
    const auto known = before.find(name);
    if (known == before.end())
      patch[name] = value;
    else if (*known != value)
      patch[name] = merge_patch_between(*known, value);
  }
  return patch;
}

}  // namespace

Json node_patch(const Json& before, const Json& after) {
  Json patch = {{"name", after.at("name")}};
  patch.update(merge_patch_between(before, after));
  if (const auto seen = after.find("seen"); seen != after.end())
    for (const auto* member : {"age_ms", "quality"}) patch["seen"][member] = seen->at(member);
  return patch;
}

bool has_new_figures_only(const rack::NodeView& before, const rack::NodeView& after) {
  if (!before.seen || !after.seen) return false;
  auto as_before = after;
  as_before.revision = before.revision;
  as_before.seen->at = before.seen->at;
  auto& now = as_before.seen->reading.telemetry;
  const auto& then = before.seen->reading.telemetry;
  now.supply_mv = then.supply_mv;
  now.supply_ma = then.supply_ma;
  now.temperature_ddegc = then.temperature_ddegc;
  now.detector_cdbm = then.detector_cdbm;
  now.uptime_s = then.uptime_s;
  auto& inputs = as_before.seen->reading.inputs;
  const auto& inputs_then = before.seen->reading.inputs;
  for (std::size_t i = 0; i < std::min(inputs.size(), inputs_then.size()); ++i) {
    inputs[i].supply_ma = inputs_then[i].supply_ma;
    inputs[i].level_cdbm = inputs_then[i].level_cdbm;
  }
  return as_before == before;
}

}  // namespace catwalk::web
