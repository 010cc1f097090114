// SPDX-License-Identifier: Apache-2.0
// The nodes: looked at, changed, told to do something.
#include <utility>
#include <vector>

#include "web/server/api/acts.hpp"
#include "web/server/api/asked.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/documents/render.hpp"
#include "web/server/http/input.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

bool wants_dry_run(const HttpRequest& request, std::vector<BadValue>& complaints) {
  complaints = unknown_parameters(request, {"dry_run"});
  const auto found = request.query.find("dry_run");
  if (found == request.query.end()) return false;
  if (found->second != "true" && found->second != "false")
    complaints.push_back({"query/dry_run", found->second, "true or false",
                          "dry_run is \"" + found->second + "\"; allowed is true or false."});
  return found->second == "true";
}

// The rest of a request that changes a node, after what is its own has been read from the body.
// False: something was wrong, and has been answered.
template <class Event>
bool read_change(const Call& call, Body& body, Event& event,
                 std::vector<BadValue> complaints = {}) {
  event.node = {call.names[0]};
  event.who = call.caller.name;
  auto all = body.finish();
  all.insert(all.end(), complaints.begin(), complaints.end());
  const auto match = read_if_match(call.request);
  if (match.complaint) all.push_back(*match.complaint);
  const auto node = call.desk.gate.snapshot()->find(event.node);
  event.if_revision =
      match.revision(node && node->wanted ? std::optional{node->wanted->revision} : std::nullopt);
  if (complained(call, all)) return false;
  if (!match.only_weak || !node) return true;
  const rack::Answer stale{
      rack::Outcome::stale,
      "If-Match is " + std::string{call.request.header("if-match")} +
          ": a weak tag never matches there; allowed is the ETag of the settings, " +
          etag_of(*node) + ".",
      {},
      0,
      node};
  call.respond(respond_to(stale, *call.desk.gate.snapshot()->plan, call.desk.clock()));
  return false;
}

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

void get_wanted(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto node = snapshot->find({call.names[0]});
  if (!node) return call.respond(not_found("node", call.names[0]));
  if (!node->wanted)
    return call.respond(not_yet("Nothing is wanted of node \"" + call.names[0] +
                                "\" yet: " + rack::why_nothing_is_wanted(*snapshot, *node)));
  const auto etag = etag_of(*node);
  if (names_tag(call.request.header("if-none-match"), etag))
    return call.respond({304, "", "", {{"ETag", etag}}});
  auto response = json_response(render_wanted(*node));
  response.headers.emplace_back("ETag", etag);
  call.respond(std::move(response));
}

void patch_wanted(const Call& call) {
  rack::ChangeRequested event;
  Body body{call.request.body};
  const auto node = call.desk.gate.snapshot()->find({call.names[0]});
  event.patch = read_patch(body, node ? node->datasheet.get() : nullptr);
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  std::vector<BadValue> complaints;
  event.dry_run = wants_dry_run(call.request, complaints);
  if (!read_change(call, body, event, std::move(complaints))) return;
  if (!call.request.has_header("if-match") && !event.dry_run)
    return call.respond(problem(428, "if-match",
                                "Say with If-Match which revision of the settings you change: the "
                                "ETag of GET /api/v1/nodes/" +
                                    call.names[0] + "/settings."));
  change(call, event);
}

// Either of the two ways to end a drift.
template <class Event>
void settle_drift(const Call& call) {
  Event event;
  Body body{call.request.body};
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  if (read_change(call, body, event)) change(call, event);
}

void locate(const Call& call) {
  Body body{call.request.body};
  const auto seconds = read_seconds(body);
  if (complained(call, body.finish())) return;
  act(call, rack::LocateRequested{0, {call.names[0]}, seconds, call.caller.name});
}

void store(const Call& call) {
  Body body{call.request.body};
  if (complained(call, body.finish())) return;
  act(call, rack::StoreRequested{0, {call.names[0]}, call.caller.name});
}

// It undoes what was said to the node under another epoch: nobody does that without saying why.
void reclaim(const Call& call) {
  if (const auto why = required_why(call))
    act(call, rack::ReclaimRequested{0, {call.names[0]}, call.caller.name, *why});
}

constexpr Route rows_of_nodes[]{
    get("nodes", list_nodes),
    get("nodes/{node}", get_node),
    get("nodes/{node}/settings", get_wanted),
    patch("nodes/{node}/settings", Role::operate, patch_wanted),
    post("nodes/{node}/adopt", Role::operate, settle_drift<rack::AdoptRequested>),
    post("nodes/{node}/reapply", Role::operate, settle_drift<rack::ReapplyRequested>),
    post("nodes/{node}/locate", Role::operate, locate),
    post("nodes/{node}/store", Role::engineer, store),
    post("nodes/{node}/reclaim", Role::engineer, reclaim),
};

}  // namespace

std::span<const Route> nodes_routes() { return rows_of_nodes; }

}  // namespace catwalk::web
