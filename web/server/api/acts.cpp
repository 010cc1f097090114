// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/acts.hpp"

#include <algorithm>
#include <utility>

#include "web/server/documents/render_matrix.hpp"
#include "web/server/documents/render_switch.hpp"
#include "web/server/http/input.hpp"

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

void add_node(Json& body, const rack::NodeView& node, const rack::Snapshot& snapshot,
              rack::TimePoint now) {
  if (!node.matrix_sheet)
    body["node"] = render(node, now);
  else if (const auto* matrix = snapshot.plan->find_matrix(node.name))
    body["matrix"] = render(*matrix, snapshot, now);
}

}  // namespace

HttpResponse json_response(const Json& json, int status) {
  return {status, "application/json", json_text(json), {}};
}

std::string etag_of(const rack::NodeView& node) {
  return '"' + std::to_string(node.wanted ? node.wanted->revision : 0) + '"';
}

HttpResponse not_found(const std::string& what, const std::string& name) {
  return problem(404, "not-found", "There is no " + what + " \"" + name + "\".");
}

bool complained(const Call& call, const std::vector<BadValue>& complaints) {
  if (complaints.empty()) return false;
  call.respond(bad_values(complaints));
  return true;
}

HttpResponse respond_to(const rack::Answer& answer, const rack::Snapshot& snapshot,
                        rack::TimePoint now) {
  const auto& plan = *snapshot.plan;
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
      if (answer.node) add_node(body, *answer.node, snapshot, now);
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

HttpResponse too_much_to_compute() {
  return passing_problem(503, "too-much-to-compute",
                         "Others wait for an answer that takes long; ask again in a moment.",
                         std::chrono::seconds{2});
}

std::string read_why(Body& body) {
  constexpr std::size_t longest_reason = 500;  // bytes
  return body.text("why", longest_reason).value_or("");
}

std::optional<std::string> only_why(const Call& call) {
  Body body{call.request.body};
  auto why = read_why(body);
  if (complained(call, body.finish())) return std::nullopt;
  return why;
}

std::optional<std::string> required_why(const Call& call) {
  Body body{call.request.body};
  auto why = body.reason("why");
  body.require("why", why.has_value(), "the reason for it");
  if (complained(call, body.finish())) return std::nullopt;
  return why;
}

std::uint8_t read_seconds(Body& body) {
  return static_cast<std::uint8_t>(body.whole("seconds", 0, 255).value_or(10));
}

void change(const Call& call, rack::Event event) {
  const bool at_once = call.request.header("prefer").find("respond-async") != std::string::npos;
  call.desk.gate.ask(
      std::move(event),
      [&desk = call.desk, respond = call.respond](const rack::Answer& answer) {
        respond(respond_to(answer, *desk.gate.snapshot(), desk.clock()));
      },
      at_once ? Gate::Until::accepted : Gate::Until::fate);
}

void act(const Call& call, rack::Event event) {
  call.desk.gate.ask(std::move(event),
                     [&desk = call.desk, respond = call.respond](const rack::Answer& answer) {
                       respond(respond_to(answer, *desk.gate.snapshot(), desk.clock()));
                     });
}

void compute(const Call& call, const LongWork::Run& run, std::function<HttpResponse()> work) {
  if (!run(std::move(work), call.respond)) call.respond(too_much_to_compute());
}

}  // namespace catwalk::web
