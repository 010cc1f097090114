// SPDX-License-Identifier: Apache-2.0
// The routes of the running order: preview, arm, go, abort.
#include <utility>

#include "web/server/api_call.hpp"
#include "web/server/asked.hpp"
#include "web/server/input.hpp"
#include "web/server/problem.hpp"
#include "web/server/render_switch.hpp"

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
bool read_trigger(const Api::Call& call, const rack::Snapshot& snapshot, Body& body, Event& event) {
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

}  // namespace

void Api::get_order(const Call& call) {
  if (complained(call, unknown_parameters(call.request, {}))) return;
  const auto snapshot = gate_.snapshot();
  call.respond(json_response(render_order(snapshot->plan->running_order, snapshot->order)));
}

void Api::get_switch(const Call& call) {
  if (complained(call, unknown_parameters(call.request, {}))) return;
  const auto snapshot = gate_.snapshot();
  if (!snapshot->switching)
    return call.respond(
        problem(404, "not-found", "There has been no switch since the daemon started."));
  call.respond(json_response(render(*snapshot->switching, *snapshot->plan)));
}

void Api::preview_segment(const Call& call) {
  auto snapshot = gate_.snapshot();
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
  compute(call, long_work_.soon, [snapshot = std::move(snapshot), segment, from, without] {
    return json_response(render(from ? rack::preview_between(*snapshot, *from, segment, without)
                                     : rack::preview(*snapshot, segment, without),
                                *snapshot->plan));
  });
}

// Answered with the end of the switch, or at once with 202 if so preferred.
void Api::go(const Call& call) {
  rack::SwitchRequested event;
  Body body{call.request.body};
  if (const auto segment = body.text("segment", longest_name))
    event.segment = plan::SegmentName{*segment};
  if (!read_trigger(call, *gate_.snapshot(), body, event)) return;
  change(call, std::move(event));
}

void Api::preview_reapply(const Call& call) {
  auto snapshot = gate_.snapshot();
  auto complaints = unknown_parameters(call.request, {"nodes"});
  const auto nodes =
      known_nodes(*snapshot, listed_in(in_query(call, "nodes")), "query/nodes", complaints);
  if (complained(call, complaints)) return;
  compute(call, long_work_.soon, [snapshot = std::move(snapshot), nodes] {
    return json_response(render(rack::preview_restoring(*snapshot, nodes), *snapshot->plan));
  });
}

void Api::reapply_drifted(const Call& call) {
  rack::RestoreRequested event;
  Body body{call.request.body};
  const auto nodes = body.names("nodes", "nodes that show other settings than wanted");
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  event.who = call.caller.name;
  auto complaints = body.finish();
  event.nodes = known_nodes(*gate_.snapshot(), nodes, "/nodes", complaints);
  if (complained(call, complaints)) return;
  change(call, std::move(event));
}

void Api::arm_reload(const Call& call) {
  Body body{call.request.body};
  auto why = read_why(body);
  if (complained(call, body.finish())) return;
  act(call, rack::ArmReloadRequested{0, call.caller.name, std::move(why)});
}

void Api::abort_switch(const Call& call) {
  Body body{call.request.body};
  auto why = read_why(body);
  if (complained(call, body.finish())) return;
  act(call, rack::AbortRequested{0, call.caller.name, std::move(why)});
}

void Api::arm(const Call& call) {
  rack::ArmRequested event;
  Body body{call.request.body};
  event.cue = cue_in(body);
  if (!read_trigger(call, *gate_.snapshot(), body, event)) return;
  act(call, std::move(event));
}

void Api::disarm(const Call& call) {
  Body body{call.request.body};
  if (complained(call, body.finish())) return;
  act(call, rack::DisarmRequested{0, call.caller.name});
}

void Api::message(const Call& call) {
  Body body{call.request.body};
  const auto text = body.text("text", longest_message);
  body.require("text", text.has_value(), "what the message says");
  if (complained(call, body.finish())) return;
  change(call, rack::MessageReceived{0, *text, call.caller.name});
}

}  // namespace catwalk::web
