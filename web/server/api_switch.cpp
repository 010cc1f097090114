// SPDX-License-Identifier: Apache-2.0
// The routes of the running order: preview, arm, go, abort.
#include <utility>

#include "web/server/api_call.hpp"
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
  if (complained(call, unknown_parameters(call.request, {}))) return;
  compute(call, long_work_.soon, [snapshot = std::move(snapshot), segment] {
    return json_response(render(rack::preview(*snapshot, segment), *snapshot->plan));
  });
}

// Answered with the end of the switch, or at once with 202 if so preferred.
void Api::go(const Call& call) {
  rack::SwitchRequested event;
  Body body{call.request.body};
  if (const auto segment = body.text("segment", longest_name))
    event.segment = plan::SegmentName{*segment};
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  event.who = call.caller.name;
  if (complained(call, body.finish())) return;
  change(call, std::move(event));
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
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  event.who = call.caller.name;
  if (complained(call, body.finish())) return;
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
