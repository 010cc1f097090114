// SPDX-License-Identifier: Apache-2.0
#include "web/server/api.hpp"

#include <algorithm>
#include <memory>
#include <utility>

#include "web/server/embedded.hpp"
#include "web/server/input.hpp"
#include "web/server/problem.hpp"

namespace catwalk::web {
namespace {

HttpResponse json_response(const Json& json, int status = 200) {
  return {
      status, "application/json", json.dump(-1, ' ', false, Json::error_handler_t::replace), {}};
}

std::string etag_of(const rack::NodeView& node) {
  return '"' + std::to_string(node.wanted ? node.wanted->revision : 0) + '"';
}

// Does If-None-Match name this tag? A list, compared weakly, or "*": RFC 9110, section 13.1.2.
bool names_tag(std::string_view list, std::string_view tag) {
  while (!list.empty()) {
    const auto comma = list.find(',');
    auto one = list.substr(0, comma);
    list = comma == std::string_view::npos ? std::string_view{} : list.substr(comma + 1);
    one.remove_prefix(std::min(one.find_first_not_of(" \t"), one.size()));
    one = one.substr(0, one.find_last_not_of(" \t") + 1);
    if (one.starts_with("W/")) one.remove_prefix(2);
    if (one == tag || one == "*") return true;
  }
  return false;
}

HttpResponse not_found(const std::string& what, const std::string& name) {
  return problem(404, "not-found", "There is no " + what + " \"" + name + "\".");
}

HttpResponse with_verdict(HttpResponse response, const rack::Answer& answer) {
  auto body = Json::parse(response.body);
  body["outcome"] = rack::name_of(answer.outcome);
  if (answer.change != 0) body["change"] = answer.change;
  body["findings"] = render(answer.verdict);
  if (answer.node && answer.node->wanted) {
    body["wanted"] = render_wanted(*answer.node);
    response.headers.emplace_back("ETag", etag_of(*answer.node));
  }
  response.body = body.dump();
  return response;
}

// A fate in the terms of HTTP.
HttpResponse respond_to(const rack::Answer& answer, rack::TimePoint now) {
  using rack::Outcome;
  const auto failed = [&](int status, const char* type) {
    return with_verdict(problem(status, type, answer.detail), answer);
  };
  switch (answer.outcome) {
    case Outcome::done:
    case Outcome::checked:
    case Outcome::accepted:
    case Outcome::settled: {
      Json body = {{"outcome", rack::name_of(answer.outcome)}};
      if (!answer.detail.empty()) body["detail"] = answer.detail;
      if (answer.change != 0) body["change"] = answer.change;
      if (answer.outcome == Outcome::checked)
        body["would_be"] = answer.verdict.refuses()        ? "refused"
                           : answer.verdict.needs_waiver() ? "needs-waiver"
                                                           : "accepted";
      body["findings"] = render(answer.verdict);
      if (answer.node) body["node"] = render(*answer.node, now);
      auto response = json_response(body, answer.outcome == Outcome::accepted ? 202 : 200);
      if (answer.node && answer.node->wanted)
        response.headers.emplace_back("ETag", etag_of(*answer.node));
      if (answer.outcome == Outcome::accepted)
        response.headers.emplace_back("Location",
                                      "/api/v1/changes/" + std::to_string(answer.change));
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
  }
  return problem(500, "internal", "An outcome without an answer.");
}

bool wants_dry_run(const HttpRequest& request, std::vector<BadValue>& complaints) {
  for (const auto& [name, value] : request.query) {
    if (name != "dry_run") {
      complaints.push_back(
          {"query/" + name, value, "dry_run",
           "There is no query parameter \"" + name + "\" here; known are: dry_run."});
    } else if (value != "true" && value != "false") {
      complaints.push_back({"query/dry_run", value, "true or false",
                            "dry_run is \"" + value + "\"; allowed is true or false."});
    }
  }
  const auto found = request.query.find("dry_run");
  return found != request.query.end() && found->second == "true";
}

constexpr std::size_t longest_reason = 500;  // bytes of "why"

}  // namespace

struct Api::Call {
  const HttpRequest& request;
  const Caller& caller;
  const Respond& respond;
  std::vector<std::string> names;  // what stood in the place of each {…} of the route
};

struct Api::Route {
  std::string method;
  std::vector<std::string> pattern;  // "{…}" stands for any one part
  Role role;
  void (Api::*run)(const Call&);
};

Api::Api(Gate& gate, WallClock clock) : gate_{gate}, clock_{std::move(clock)} {}

const std::vector<Api::Route>& Api::routes() {
  static const auto table = [] {
    std::vector<Route> routes;
    const auto add = [&](const char* method, const char* path, Role role,
                         void (Api::*run)(const Call&)) {
      routes.push_back({method, path_parts(path), role, run});
    };
    add("GET", "rack", Role::watch, &Api::get_rack);
    add("POST", "rack/lock", Role::operate, &Api::lock);
    add("POST", "rack/unlock", Role::operate, &Api::unlock);
    add("POST", "rack/segment", Role::operate, &Api::choose_segment);
    add("POST", "rack/take-over", Role::engineer, &Api::take_over);
    add("POST", "rack/reload", Role::engineer, &Api::reload);
    add("GET", "nodes", Role::watch, &Api::list_nodes);
    add("GET", "nodes/{node}", Role::watch, &Api::get_node);
    add("GET", "nodes/{node}/settings", Role::watch, &Api::get_wanted);
    add("PATCH", "nodes/{node}/settings", Role::operate, &Api::patch_wanted);
    add("POST", "nodes/{node}/adopt", Role::operate, &Api::adopt);
    add("POST", "nodes/{node}/reapply", Role::operate, &Api::reapply);
    add("POST", "nodes/{node}/locate", Role::operate, &Api::locate);
    add("POST", "nodes/{node}/store", Role::engineer, &Api::store);
    add("GET", "segments", Role::watch, &Api::list_segments);
    add("GET", "segments/{segment}", Role::watch, &Api::get_segment);
    add("GET", "lines", Role::watch, &Api::list_lines);
    add("GET", "lines/{line}", Role::watch, &Api::get_line);
    add("POST", "lines/{line}/discover", Role::engineer, &Api::discover);
    add("GET", "alarms", Role::watch, &Api::list_alarms);
    add("POST", "alarms/{alarm}/acknowledge", Role::operate, &Api::acknowledge);
    add("GET", "changes", Role::watch, &Api::list_changes);
    add("GET", "changes/{change}", Role::watch, &Api::get_change);
    add("GET", "journal", Role::watch, &Api::list_journal);
    add("GET", "openapi.json", Role::watch, &Api::get_openapi);
    return routes;
  }();
  return table;
}

std::vector<std::string> Api::route_names() {
  std::vector<std::string> names;
  for (const auto& route : routes()) {
    auto name = route.method + ' ';
    for (const auto& part : route.pattern) name += '/' + part;
    names.push_back(std::move(name));
  }
  return names;
}

void Api::handle(const HttpRequest& request, const Caller& caller, Respond respond) {
  const auto parts = path_parts(request.path);
  const bool ours = parts.size() > 2 && parts[0] == "api" && parts[1] == "v1";
  std::string allowed;
  for (const auto& route : routes()) {
    if (!ours || route.pattern.size() != parts.size() - 2) continue;
    std::vector<std::string> names;
    bool fits = true;
    for (std::size_t i = 0; fits && i < route.pattern.size(); ++i) {
      if (route.pattern[i].front() == '{')
        names.push_back(parts[i + 2]);
      else
        fits = route.pattern[i] == parts[i + 2];
    }
    if (!fits) continue;
    if (route.method != request.method) {
      allowed += (allowed.empty() ? "" : ", ") + route.method;
      continue;
    }
    if (caller.role < route.role) {
      respond(problem(403, "role",
                      "This needs the role " + std::string{name_of(route.role)} + "; " +
                          caller.name + " has " + std::string{name_of(caller.role)} + "."));
      return;
    }
    if (route.method != "GET" && replay(request, caller, respond)) return;
    (this->*route.run)({request, caller, respond, std::move(names)});
    return;
  }
  if (allowed.empty()) {
    respond(problem(404, "not-found", "There is nothing at " + request.path + "."));
    return;
  }
  auto response = problem(
      405, "method",
      request.method + " is not possible on " + request.path + "; possible is " + allowed + ".");
  response.headers.emplace_back("Allow", allowed);
  respond(std::move(response));
}

// True: the request has been answered, or will be together with the first of its key. Else
// `respond` also keeps the answer for those that come after.
bool Api::replay(const HttpRequest& request, const Caller& caller, Respond& respond) {
  if (!request.has_header("idempotency-key")) return false;
  std::string key{request.header("idempotency-key")};
  if (key.empty() || key.size() > 128) {
    respond(bad_values({{"header/Idempotency-Key", key, "1 to 128 characters",
                         "Idempotency-Key has " + std::to_string(key.size()) +
                             " characters; allowed is 1 to 128 characters."}}));
    return true;
  }
  key = caller.name + '\n' + key;
  const auto fingerprint = request.method + ' ' + request.path + ' ' +
                           (request.query.contains("dry_run") ? request.query.at("dry_run") : "") +
                           ' ' + std::string{request.header("if-match")} + '\n' + request.body;
  const auto [found, fresh] = kept_.try_emplace(key);
  auto& kept = found->second;
  if (!fresh) {
    if (kept.fingerprint != fingerprint)
      respond(problem(422, "idempotency-key",
                      "This Idempotency-Key was used before with another request."));
    else if (kept.response)
      respond(*kept.response);
    else
      kept.waiting.push_back(std::move(respond));
    return true;
  }
  kept.fingerprint = fingerprint;
  kept_order_.push_back(key);
  if (kept_order_.size() > keys_kept) {
    // One that still waits for its answer stays.
    const auto oldest = kept_.find(kept_order_.front());
    if (oldest != kept_.end() && oldest->second.response)
      kept_.erase(oldest);
    else if (oldest != kept_.end())
      kept_order_.push_back(kept_order_.front());
    kept_order_.pop_front();
  }
  respond = [this, key, first = std::move(respond)](HttpResponse response) {
    const auto mine = kept_.find(key);
    std::vector<Respond> waiting;
    if (mine != kept_.end()) {
      waiting = std::move(mine->second.waiting);
      // What was not even tried may be tried again under the same key.
      if (response.status == 409 || response.status == 412 || response.status >= 500)
        kept_.erase(mine);
      else
        mine->second.response = response;
    }
    for (const auto& other : waiting) other(response);
    first(std::move(response));
  };
  return false;
}

// Sends a change to the core; answers with its fate, or at once with 202 if so preferred (RFC
// 7240).
void Api::change(const Call& call, rack::Event event) {
  const bool at_once = call.request.header("prefer").find("respond-async") != std::string::npos;
  auto answered = std::make_shared<bool>(false);
  gate_.ask(std::move(event),
            [this, at_once, answered, respond = call.respond](const rack::Answer& answer) {
              if (*answered || (answer.outcome == rack::Outcome::accepted && !at_once)) return;
              *answered = true;
              respond(respond_to(answer, clock_()));
            });
}

void Api::act(const Call& call, rack::Event event) {
  gate_.ask(std::move(event), [this, respond = call.respond](const rack::Answer& answer) {
    respond(respond_to(answer, clock_()));
  });
}

void Api::get_rack(const Call& call) {
  call.respond(json_response(render_rack(*gate_.snapshot())));
}

void Api::list_nodes(const Call& call) {
  const auto snapshot = gate_.snapshot();
  const auto now = clock_();
  std::string body = "{\"nodes\":[";
  for (const auto& node : snapshot->nodes) {
    if (body.back() != '[') body += ',';
    body += texts_.text(node, now);
  }
  call.respond({200, "application/json", body + "]}", {}});
}

void Api::get_node(const Call& call) {
  const auto node = gate_.snapshot()->find({call.names[0]});
  if (!node) return call.respond(not_found("node", call.names[0]));
  call.respond({200, "application/json", texts_.text(node, clock_()), {}});
}

void Api::get_wanted(const Call& call) {
  const auto node = gate_.snapshot()->find({call.names[0]});
  if (!node) return call.respond(not_found("node", call.names[0]));
  if (!node->wanted)
    return call.respond(problem(404, "not-found",
                                "Node \"" + call.names[0] +
                                    "\" has never been read, so nothing "
                                    "is wanted of it yet."));
  const auto etag = etag_of(*node);
  if (names_tag(call.request.header("if-none-match"), etag))
    return call.respond({304, "", "", {{"ETag", etag}}});
  auto response = json_response(render_wanted(*node));
  response.headers.emplace_back("ETag", etag);
  call.respond(std::move(response));
}

void Api::patch_wanted(const Call& call) {
  rack::ChangeRequested event;
  Body body{call.request.body};
  event.node = {call.names[0]};
  event.patch = read_patch(body);
  event.why = body.text("why", longest_reason).value_or("");
  event.waiver = body.waiver("waiver");
  event.who = call.caller.name;
  auto complaints = body.finish();
  event.dry_run = wants_dry_run(call.request, complaints);
  const auto revision = read_if_match(call.request);
  if (revision.complaint) complaints.push_back(*revision.complaint);
  if (!complaints.empty()) return call.respond(bad_values(complaints));
  event.if_revision = revision.value;
  if (!event.if_revision && !event.dry_run)
    return call.respond(problem(428, "if-match",
                                "Say with If-Match which revision of the settings you change: the "
                                "ETag of GET /api/v1/nodes/" +
                                    call.names[0] + "/settings."));
  change(call, event);
}

void Api::adopt(const Call& call) {
  Body body{call.request.body};
  rack::AdoptRequested event;
  event.node = {call.names[0]};
  event.why = body.text("why", longest_reason).value_or("");
  event.waiver = body.waiver("waiver");
  event.who = call.caller.name;
  auto complaints = body.finish();
  const auto revision = read_if_match(call.request);
  if (revision.complaint) complaints.push_back(*revision.complaint);
  if (!complaints.empty()) return call.respond(bad_values(complaints));
  event.if_revision = revision.value;
  change(call, event);
}

void Api::reapply(const Call& call) {
  Body body{call.request.body};
  rack::ReapplyRequested event;
  event.node = {call.names[0]};
  event.why = body.text("why", longest_reason).value_or("");
  event.who = call.caller.name;
  auto complaints = body.finish();
  const auto revision = read_if_match(call.request);
  if (revision.complaint) complaints.push_back(*revision.complaint);
  if (!complaints.empty()) return call.respond(bad_values(complaints));
  event.if_revision = revision.value;
  change(call, event);
}

void Api::locate(const Call& call) {
  Body body{call.request.body};
  const auto seconds = body.whole("seconds", 0, 255).value_or(10);
  if (const auto complaints = body.finish(); !complaints.empty())
    return call.respond(bad_values(complaints));
  act(call, rack::LocateRequested{
                0, {call.names[0]}, static_cast<std::uint8_t>(seconds), call.caller.name});
}

void Api::store(const Call& call) {
  Body body{call.request.body};
  if (const auto complaints = body.finish(); !complaints.empty())
    return call.respond(bad_values(complaints));
  act(call, rack::StoreRequested{0, {call.names[0]}, call.caller.name});
}

void Api::lock(const Call& call) {
  Body body{call.request.body};
  const auto why = body.text("why", longest_reason).value_or("");
  if (const auto complaints = body.finish(); !complaints.empty())
    return call.respond(bad_values(complaints));
  act(call, rack::LockRequested{0, true, call.caller.name, why});
}

void Api::unlock(const Call& call) {
  Body body{call.request.body};
  const auto why = body.text("why", longest_reason).value_or("");
  if (const auto complaints = body.finish(); !complaints.empty())
    return call.respond(bad_values(complaints));
  act(call, rack::LockRequested{0, false, call.caller.name, why});
}

void Api::choose_segment(const Call& call) {
  Body body{call.request.body};
  const auto segment = body.text("segment", 64);
  const auto why = body.text("why", longest_reason).value_or("");
  body.require("segment", segment.has_value(), "the name of a segment");
  if (const auto complaints = body.finish(); !complaints.empty())
    return call.respond(bad_values(complaints));
  act(call, rack::SegmentRequested{0, {*segment}, call.caller.name, why});
}

void Api::take_over(const Call& call) {
  Body body{call.request.body};
  const auto why = body.text("why", longest_reason).value_or("");
  if (const auto complaints = body.finish(); !complaints.empty())
    return call.respond(bad_values(complaints));
  act(call, rack::TakeOverRequested{0, call.caller.name, why});
}

void Api::reload(const Call& call) {
  Body body{call.request.body};
  if (const auto complaints = body.finish(); !complaints.empty())
    return call.respond(bad_values(complaints));
  gate_.reload([respond = call.respond](const std::vector<std::string>& troubles) {
    if (troubles.empty())
      return respond(json_response({{"outcome", "done"}, {"findings", Json::array()}}));
    auto response =
        problem(422, "bad-files", "The files were not taken; the old ones stay in force.");
    auto json = Json::parse(response.body);
    json["problems"] = troubles;
    response.body = json.dump(-1, ' ', false, Json::error_handler_t::replace);
    respond(std::move(response));
  });
}

void Api::list_segments(const Call& call) {
  const auto snapshot = gate_.snapshot();
  Json segments = Json::array();
  for (const auto& segment : snapshot->plan->segments) segments.push_back(render(segment));
  call.respond(json_response({{"active", snapshot->segment.text}, {"segments", segments}}));
}

void Api::get_segment(const Call& call) {
  const auto snapshot = gate_.snapshot();
  const auto* segment = snapshot->plan->find(plan::SegmentName{call.names[0]});
  call.respond(segment == nullptr ? not_found("segment", call.names[0])
                                  : json_response(render(*segment)));
}

void Api::list_lines(const Call& call) {
  const auto snapshot = gate_.snapshot();
  Json lines = Json::array();
  for (const auto& line : *snapshot->lines) lines.push_back(render(line));
  call.respond(json_response({{"lines", lines}}));
}

void Api::get_line(const Call& call) {
  const auto snapshot = gate_.snapshot();
  const auto found =
      std::ranges::find(*snapshot->lines, plan::LineName{call.names[0]}, &rack::LineView::name);
  call.respond(found == snapshot->lines->end() ? not_found("line", call.names[0])
                                               : json_response(render(*found)));
}

void Api::discover(const Call& call) {
  Body body{call.request.body};
  if (const auto complaints = body.finish(); !complaints.empty())
    return call.respond(bad_values(complaints));
  act(call, rack::DiscoverRequested{0, {call.names[0]}, call.caller.name});
}

void Api::list_alarms(const Call& call) {
  const auto snapshot = gate_.snapshot();
  Json alarms = Json::array();
  for (const auto& alarm : *snapshot->alarms) alarms.push_back(render(alarm));
  call.respond(json_response({{"alarms", alarms}}));
}

void Api::acknowledge(const Call& call) {
  Body body{call.request.body};
  if (const auto complaints = body.finish(); !complaints.empty())
    return call.respond(bad_values(complaints));
  const auto alarm = parse_whole(call.names[0]);
  if (!alarm) return call.respond(not_found("alarm", call.names[0]));
  act(call, rack::AcknowledgeRequested{0, *alarm, call.caller.name});
}

void Api::list_changes(const Call& call) {
  const auto snapshot = gate_.snapshot();
  Json changes = Json::array();
  for (const auto& change : *snapshot->changes) changes.push_back(render(change, *snapshot));
  call.respond(json_response({{"changes", changes}}));
}

void Api::get_change(const Call& call) {
  const auto snapshot = gate_.snapshot();
  const auto id = parse_whole(call.names[0]);
  const auto found = std::ranges::find(*snapshot->changes, id.value_or(0), &rack::ChangeView::id);
  if (found == snapshot->changes->end())
    return call.respond(problem(404, "not-found",
                                "Change \"" + call.names[0] +
                                    "\" is not among the latest; the journal "
                                    "may have it."));
  call.respond(json_response(render(*found, *snapshot)));
}

void Api::list_journal(const Call& call) {
  const auto ask = read_journal_query(call.request);
  if (!ask.complaints.empty()) return call.respond(bad_values(ask.complaints));
  gate_.read_journal(ask.query, [respond = call.respond](auto rows) {
    if (!rows) return respond(problem(503, "not-recorded", "The journal cannot be read now."));
    Json entries = Json::array();
    for (const auto& row : *rows) entries.push_back(render(row));
    respond(json_response({{"entries", entries}}));
  });
}

void Api::get_openapi(const Call& call) {
  call.respond({200, "application/json", std::string{embedded::openapi_json}, {}});
}

}  // namespace catwalk::web
