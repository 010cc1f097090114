// SPDX-License-Identifier: Apache-2.0
// The running order: preview, arm, go, abort; what has drifted brought back.
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "web/server/api/acts.hpp"
#include "web/server/api/asked.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/documents/render_switch.hpp"
#include "web/server/http/input.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

constexpr std::size_t longest_message = 64;

std::optional<plan::CueName> cue_in(Body& body) {
  const auto name = body.text("cue", longest_name);
  return name ? std::optional{plan::CueName{*name}} : std::nullopt;
}

// Those of the rack among `names`; a complaint for each other one, at `pointer`.
std::vector<plan::NodeName> known_nodes(const rack::Snapshot& snapshot,
                                        const std::vector<std::string>& names,
                                        const std::string& pointer,
                                        std::vector<BadValue>& complaints) {
  std::vector<plan::NodeName> nodes;
  for (const auto& name : names) {
    const plan::NodeName node{name};
    if (snapshot.plan->find(node) != nullptr)
      nodes.push_back(node);
    else
      complaints.push_back({pointer, name, "names of nodes of this rack",
                            "There is no node \"" + name + "\" in this rack."});
  }
  return nodes;
}

// What goes with going and with arming: reasons, and who is left out. False: it was answered.
template <class Event>
bool read_trigger(const Call& call, const rack::Snapshot& snapshot, Body& body, Event& event) {
  const auto without = body.names("without", "nodes that stay as they are");
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  event.who = call.caller.name;
  if (!without.empty())
    body.require("why", !event.why.empty(), "the reason why nodes are left out");
  auto complaints = body.finish();
  event.without = known_nodes(snapshot, without, "/without", complaints);
  return !complained(call, complaints);
}

void preview_segment(const Call& call) {
  auto snapshot = call.desk.gate.snapshot();
  const plan::SegmentName segment{call.names[0]};
  if (snapshot->plan->find(segment) == nullptr)
    return call.respond(not_found("segment", segment.text));
  auto complaints = unknown_parameters(call.request, {"without", "from"});
  const auto without =
      known_nodes(*snapshot, listed_in(in_query(call, "without")), "query/without", complaints);
  std::optional<plan::SegmentName> from;
  if (const auto asked = in_query(call, "from"); asked.name)
    from = segment_to_leave(*snapshot, asked, segment, complaints);
  if (complained(call, complaints)) return;
  compute(call, call.desk.long_work.soon, [snapshot = std::move(snapshot), segment, from, without] {
    return json_response(render(from ? rack::preview_between(*snapshot, *from, segment, without)
                                     : rack::preview(*snapshot, segment, without),
                                *snapshot->plan));
  });
}

void get_order(const Call& call) {
  if (complained(call, unknown_parameters(call.request, {}))) return;
  call.respond(json_response(render_order(*call.desk.gate.snapshot())));
}

void arm(const Call& call) {
  rack::ArmRequested event;
  Body body{call.request.body};
  event.cue = cue_in(body);
  if (!read_trigger(call, *call.desk.gate.snapshot(), body, event)) return;
  act(call, std::move(event));
}

void disarm(const Call& call) {
  Body body{call.request.body};
  if (complained(call, body.finish())) return;
  act(call, rack::DisarmRequested{0, call.caller.name});
}

void message(const Call& call) {
  Body body{call.request.body};
  const auto text = body.text("text", longest_message);
  body.require("text", text.has_value(), "what the message says");
  if (complained(call, body.finish())) return;
  change(call, rack::MessageReceived{0, *text, call.caller.name});
}

void get_switch(const Call& call) {
  if (complained(call, unknown_parameters(call.request, {}))) return;
  const auto snapshot = call.desk.gate.snapshot();
  if (!snapshot->switching)
    return call.respond(
        problem(404, "not-found", "There has been no switch since the daemon started."));
  call.respond(json_response(render(*snapshot->switching, *snapshot->plan)));
}

// Answered with the end of the switch, or at once with 202 if so preferred.
void go(const Call& call) {
  rack::SwitchRequested event;
  Body body{call.request.body};
  if (const auto segment = body.text("segment", longest_name))
    event.segment = plan::SegmentName{*segment};
  if (!read_trigger(call, *call.desk.gate.snapshot(), body, event)) return;
  change(call, std::move(event));
}

void abort_switch(const Call& call) {
  if (auto why = only_why(call))
    act(call, rack::AbortRequested{0, call.caller.name, *std::move(why)});
}

void preview_reapply(const Call& call) {
  auto snapshot = call.desk.gate.snapshot();
  auto complaints = unknown_parameters(call.request, {"nodes"});
  const auto nodes =
      known_nodes(*snapshot, listed_in(in_query(call, "nodes")), "query/nodes", complaints);
  if (complained(call, complaints)) return;
  compute(call, call.desk.long_work.soon, [snapshot = std::move(snapshot), nodes] {
    return json_response(render(rack::preview_restoring(*snapshot, nodes), *snapshot->plan));
  });
}

void reapply_drifted(const Call& call) {
  rack::RestoreRequested event;
  Body body{call.request.body};
  const auto nodes = body.names("nodes", "nodes that show other settings than wanted");
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  event.who = call.caller.name;
  auto complaints = body.finish();
  event.nodes = known_nodes(*call.desk.gate.snapshot(), nodes, "/nodes", complaints);
  if (complained(call, complaints)) return;
  change(call, std::move(event));
}

constexpr Route rows_of_order[]{
    get("segments/{segment}/preview", preview_segment),
    get("running-order", get_order),
    post("running-order/arm", Role::operate, arm),
    post("running-order/disarm", Role::operate, disarm),
    post("running-order/message", Role::operate, message),
    get("switch", get_switch),
    post("switch", Role::operate, go),
    post("switch/abort", Role::operate, abort_switch),
    get("rack/reapply", preview_reapply),
    post("rack/reapply", Role::operate, reapply_drifted),
};

}  // namespace

std::span<const Route> order_routes() { return rows_of_order; }

}  // namespace catwalk::web
