// SPDX-License-Identifier: Apache-2.0
// The routes that ask something of the core, and how its answers read in HTTP.
#include <memory>
#include <utility>

#include "web/server/api_call.hpp"
#include "web/server/input.hpp"
#include "web/server/problem.hpp"
#include "web/server/render_switch.hpp"

namespace catwalk::web {
namespace {

HttpResponse refusal(int status, const char* type, const rack::Answer& answer,
                     const plan::RackPlan& plan) {
  Json more = {{"outcome", rack::name_of(answer.outcome)}};
  if (answer.change != 0) more["change"] = answer.change;
  more["findings"] = render(answer.verdict);
  const bool has_wanted = answer.node && answer.node->wanted;
  if (has_wanted) more["wanted"] = render_wanted(*answer.node);
  if (answer.switching) more["switch"] = render(*answer.switching, plan);
  auto response = problem_with(status, type, answer.detail, more);
  if (has_wanted) response.headers.emplace_back("ETag", etag_of(*answer.node));
  return response;
}

bool wants_dry_run(const HttpRequest& request, std::vector<BadValue>& complaints) {
  complaints = unknown_parameters(request, {"dry_run"});
  const auto found = request.query.find("dry_run");
  if (found == request.query.end()) return false;
  if (found->second != "true" && found->second != "false")
    complaints.push_back({"query/dry_run", found->second, "true or false",
                          "dry_run is \"" + found->second + "\"; allowed is true or false."});
  return found->second == "true";
}

// The body of an action that takes nothing but, at most, a reason. Absent: it has been answered.
std::optional<std::string> only_why(const Api::Call& call) {
  Body body{call.request.body};
  auto why = read_why(body);
  if (complained(call, body.finish())) return std::nullopt;
  return why;
}

// The body of an action that nobody does without saying why. Absent: it has been answered.
std::optional<std::string> required_why(const Api::Call& call) {
  Body body{call.request.body};
  auto why = body.reason("why");
  body.require("why", why.has_value(), "the reason for it");
  if (complained(call, body.finish())) return std::nullopt;
  return why;
}

// The rest of a request that changes a node, after what is its own has been read from the body.
// False: something was wrong, and has been answered.
template <class Event>
bool read_change(const Api::Call& call, Body& body, Event& event,
                 std::vector<BadValue> complaints = {}) {
  event.node = {call.names[0]};
  event.who = call.caller.name;
  auto all = body.finish();
  all.insert(all.end(), complaints.begin(), complaints.end());
  const auto revision = read_if_match(call.request);
  if (revision.complaint) all.push_back(*revision.complaint);
  event.if_revision = revision.value;
  return !complained(call, all);
}

}  // namespace

HttpResponse respond_to(const rack::Answer& answer, const plan::RackPlan& plan,
                        rack::TimePoint now) {
  using rack::Outcome;
  const auto failed = [&](int status, const char* type) {
    return refusal(status, type, answer, plan);
  };
  switch (answer.outcome) {
    case Outcome::done:
    case Outcome::checked:
    case Outcome::accepted:
    case Outcome::settled: {
      Json body = {{"outcome", rack::name_of(answer.outcome)}};
      if (!answer.detail.empty()) body["detail"] = answer.detail;
      if (answer.change != 0) body["change"] = answer.change;
      if (answer.outcome == Outcome::checked) body["would_be"] = would_be(answer.verdict);
      body["findings"] = render(answer.verdict);
      if (answer.node) body["node"] = render(*answer.node, now);
      if (answer.switching) body["switch"] = render(*answer.switching, plan);
      if (answer.armed) body["armed"] = render(*answer.armed);
      auto response = json_response(body, answer.outcome == Outcome::accepted ? 202 : 200);
      if (answer.node && answer.node->wanted)
        response.headers.emplace_back("ETag", etag_of(*answer.node));
      if (answer.outcome == Outcome::accepted)
        response.headers.emplace_back(
            "Location", answer.switching ? "/api/v1/switch"
                                         : "/api/v1/changes/" + std::to_string(answer.change));
      return response;
    }
    case Outcome::refused:
      return failed(409, "refused");
    case Outcome::needs_waiver:
      return failed(409, "needs-waiver");
    case Outcome::failed:
      return failed(502, "node-refused");
    case Outcome::unreachable:
      return failed(504, "unreachable");
    case Outcome::stale:
      return failed(412, "stale");
    case Outcome::busy: {
      auto response = failed(409, "busy");
      response.headers.emplace_back("Retry-After", "1");
      return response;
    }
    case Outcome::unknown_name:
      return failed(404, "not-found");
    case Outcome::not_recorded:
      return failed(503, "not-recorded");
    case Outcome::rolled_back:
      return failed(424, "rolled-back");
    case Outcome::stuck:
      return failed(424, "stuck");
  }
  return problem(500, "internal", "An outcome without an answer.");
}

namespace {

// How long a lamp is to blink.
std::uint8_t read_seconds(Body& body) {
  return static_cast<std::uint8_t>(body.whole("seconds", 0, 255).value_or(10));
}

}  // namespace

std::string read_why(Body& body) {
  constexpr std::size_t longest_reason = 500;  // bytes
  return body.text("why", longest_reason).value_or("");
}

// Sends a change to the core; answers with its fate, or at once with 202 if so preferred (RFC
// 7240).
void Api::change(const Call& call, rack::Event event) {
  const bool at_once = call.request.header("prefer").find("respond-async") != std::string::npos;
  gate_.ask(
      std::move(event),
      [this, respond = call.respond](const rack::Answer& answer) {
        respond(respond_to(answer, *gate_.snapshot()->plan, clock_()));
      },
      at_once ? Gate::Until::accepted : Gate::Until::fate);
}

void Api::act(const Call& call, rack::Event event) {
  gate_.ask(std::move(event), [this, respond = call.respond](const rack::Answer& answer) {
    respond(respond_to(answer, *gate_.snapshot()->plan, clock_()));
  });
}

void Api::patch_wanted(const Call& call) {
  rack::ChangeRequested event;
  Body body{call.request.body};
  const auto node = gate_.snapshot()->find({call.names[0]});
  event.patch = read_patch(body, node ? node->datasheet.get() : nullptr);
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  std::vector<BadValue> complaints;
  event.dry_run = wants_dry_run(call.request, complaints);
  if (!read_change(call, body, event, std::move(complaints))) return;
  if (!event.if_revision && !event.dry_run)
    return call.respond(problem(428, "if-match",
                                "Say with If-Match which revision of the settings you change: the "
                                "ETag of GET /api/v1/nodes/" +
                                    call.names[0] + "/settings."));
  change(call, event);
}

void Api::adopt(const Call& call) {
  rack::AdoptRequested event;
  Body body{call.request.body};
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  if (read_change(call, body, event)) change(call, event);
}

void Api::reapply(const Call& call) {
  rack::ReapplyRequested event;
  Body body{call.request.body};
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  if (read_change(call, body, event)) change(call, event);
}

void Api::locate(const Call& call) {
  Body body{call.request.body};
  const auto seconds = read_seconds(body);
  if (complained(call, body.finish())) return;
  act(call, rack::LocateRequested{0, {call.names[0]}, seconds, call.caller.name});
}

void Api::store(const Call& call) {
  Body body{call.request.body};
  if (complained(call, body.finish())) return;
  act(call, rack::StoreRequested{0, {call.names[0]}, call.caller.name});
}

// It undoes what was said to the node under another epoch: nobody does that without saying why.
void Api::reclaim(const Call& call) {
  if (const auto why = required_why(call))
    act(call, rack::ReclaimRequested{0, {call.names[0]}, call.caller.name, *why});
}

void Api::lock(const Call& call) {
  if (const auto why = only_why(call))
    act(call, rack::LockRequested{0, true, call.caller.name, *why});
}

void Api::unlock(const Call& call) {
  if (const auto why = only_why(call))
    act(call, rack::LockRequested{0, false, call.caller.name, *why});
}

// It shuts another controller out of the grid: nobody does that without saying why.
void Api::take_over(const Call& call) {
  if (const auto why = required_why(call))
    act(call, rack::TakeOverRequested{0, call.caller.name, *why});
}

void Api::choose_segment(const Call& call) {
  Body body{call.request.body};
  const auto segment = body.text("segment", 64);
  const auto why = read_why(body);
  body.require("segment", segment.has_value(), "the name of a segment");
  if (complained(call, body.finish())) return;
  act(call, rack::SegmentRequested{0, {*segment}, call.caller.name, why});
}

void Api::reload(const Call& call) {
  Body body{call.request.body};
  if (complained(call, body.finish())) return;
  gate_.reload(call.caller.name, [respond =
                                      call.respond](const std::vector<std::string>& troubles) {
    if (troubles.empty())
      return respond(json_response({{"outcome", "done"}, {"findings", Json::array()}}));
    respond(problem_with(422, "bad-files", "The files were not taken; the old ones stay in force.",
                         {{"problems", troubles}}));
  });
}

void Api::discover(const Call& call) {
  Body body{call.request.body};
  if (complained(call, body.finish())) return;
  act(call, rack::DiscoverRequested{0, {call.names[0]}, call.caller.name});
}

// Whether it stands in the rack file or not.
void Api::locate_found(const Call& call) {
  Body body{call.request.body};
  const auto seconds = read_seconds(body);
  auto complaints = body.finish();
  const auto uid = protocol::NodeUid::parse(call.names[1]);
  if (!uid)
    complaints.push_back(
        {"path/uid", call.names[1], "a uid such as 7a10-0000002f",
         "uid is \"" + call.names[1] + "\"; allowed is a uid such as 7a10-0000002f."});
  if (complained(call, complaints)) return;
  act(call, rack::LocateFoundRequested{0, {call.names[0]}, *uid, seconds, call.caller.name});
}

void Api::acknowledge_many(const Call& call) {
  rack::AcknowledgeManyRequested event;
  Body body{call.request.body};
  event.alarms = body.numbers_from_one("alarms");
  const auto all = body.boolean("all").value_or(false);
  event.who = call.caller.name;
  body.require("alarms", all || !event.alarms.empty(), "numbers of alarms, or all: true");
  if (complained(call, body.finish())) return;
  if (all) event.alarms.clear();
  act(call, std::move(event));
}

void Api::acknowledge(const Call& call) {
  Body body{call.request.body};
  if (complained(call, body.finish())) return;
  const auto alarm = parse_whole(call.names[0]);
  if (!alarm) return call.respond(not_found("alarm", call.names[0]));
  act(call, rack::AcknowledgeRequested{0, *alarm, call.caller.name});
}

// Answered with the alarm as it is then.
void Api::act_on_alarm(const Call& call, rack::Event event) {
  gate_.ask(std::move(event), [this, respond = call.respond](const rack::Answer& answer) {
    respond(answer.outcome == rack::Outcome::done && answer.alarm
                ? json_response(render(*answer.alarm))
                : respond_to(answer, *gate_.snapshot()->plan, clock_()));
  });
}

void Api::shelve(const Call& call) {
  Body body{call.request.body};
  const auto lasting =
      body.whole("for_s", rack::shortest_shelving.count(), rack::longest_shelving.count());
  const auto why = body.reason("why");
  body.require("for_s", lasting.has_value(), "a whole number from 60 to 86400");
  body.require("why", why.has_value(), "the reason for it");
  if (complained(call, body.finish())) return;
  const auto alarm = parse_whole(call.names[0]);
  if (!alarm) return call.respond(not_found("alarm", call.names[0]));
  act_on_alarm(call, rack::ShelveRequested{0, *alarm, std::chrono::seconds{*lasting},
                                           call.caller.name, *why});
}

void Api::unshelve(const Call& call) {
  Body body{call.request.body};
  if (complained(call, body.finish())) return;
  const auto alarm = parse_whole(call.names[0]);
  if (!alarm) return call.respond(not_found("alarm", call.names[0]));
  act_on_alarm(call, rack::UnshelveRequested{0, *alarm, call.caller.name});
}

}  // namespace catwalk::web
