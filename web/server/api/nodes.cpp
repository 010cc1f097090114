// SPDX-License-Identifier: Apache-2.0
// The amplifiers: looked at, changed, told to do something.
#include <utility>
#include <vector>

#include "web/server/api/node_kind.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/http/settings_body.hpp"

namespace catwalk::web {
namespace {

void list_nodes(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto now = call.desk.clock();
  std::string body = "{\"nodes\":[";
  for (const auto& node : snapshot->nodes) {
    if (body.back() != '[') body += ',';
    body += call.desk.texts.text(node, now);
  }
  call.respond({200, "application/json", body + "]}", {}});
}

void get_node(const Call& call) {
  const auto node = call.desk.gate.snapshot()->find({call.names[0]});
  if (!node) return call.respond(not_found("node", call.names[0]));
  call.respond({200, "application/json", call.desk.texts.text(node, call.desk.clock()), {}});
}

void patch_wanted(const Call& call) {
  rack::ChangeRequested event;
  Body body{call.request.body};
  const auto node = named(call, amplifiers);
  event.patch = read_patch(body, node ? node->datasheet.get() : nullptr);
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  std::vector<BadValue> complaints;
  event.dry_run = wants_dry_run(call.request, complaints);
  if (!read_change(call, amplifiers, body, event, std::move(complaints))) return;
  if (!event.dry_run && lacks_match(call, amplifiers)) return;
  change(call, event);
}

constexpr Route rows_of_nodes[]{
    get("nodes", list_nodes),
    get("nodes/{node}", get_node),
    get("nodes/{node}/settings", [](const Call& call) { get_wanted_of(call, amplifiers); }),
    patch("nodes/{node}/settings", Role::operate, patch_wanted),
    post("nodes/{node}/adopt", Role::operate,
         [](const Call& call) { settle_drift<rack::AdoptRequested>(call, amplifiers); }),
    post("nodes/{node}/reapply", Role::operate,
         [](const Call& call) { settle_drift<rack::ReapplyRequested>(call, amplifiers); }),
    post("nodes/{node}/locate", Role::operate, [](const Call& call) { locate(call, amplifiers); }),
    post("nodes/{node}/store", Role::engineer, [](const Call& call) { store(call, amplifiers); }),
    post("nodes/{node}/reclaim", Role::engineer,
         [](const Call& call) { reclaim(call, amplifiers); }),
};

}  // namespace

std::span<const Route> nodes_routes() { return rows_of_nodes; }

}  // namespace catwalk::web
