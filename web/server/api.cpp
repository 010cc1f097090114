// SPDX-License-Identifier: Apache-2.0
#include "web/server/api.hpp"

#include <algorithm>
#include <utility>

#include "web/server/api_call.hpp"
#include "web/server/problem.hpp"

namespace catwalk::web {

HttpResponse json_response(const Json& json, int status) {
  return {status, "application/json", json_text(json), {}};
}

std::string etag_of(const rack::NodeView& node) {
  return '"' + std::to_string(node.wanted ? node.wanted->revision : 0) + '"';
}

HttpResponse not_found(const std::string& what, const std::string& name) {
  return problem(404, "not-found", "There is no " + what + " \"" + name + "\".");
}

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

bool complained(const Api::Call& call, const std::vector<BadValue>& complaints) {
  if (complaints.empty()) return false;
  call.respond(bad_values(complaints));
  return true;
}

struct Api::Route {
  std::string method;
  std::vector<std::string> pattern;  // "{…}" stands for any one part
  Role role;
  void (Api::*run)(const Call&);
};

LongWork LongWork::at_once() {
  const auto now = [](const std::function<HttpResponse()>& work, const Respond& respond) {
    respond(work());
    return true;
  };
  return {now, now, rack::one_after_the_other};
}

Api::Api(Gate& gate, WallClock clock, LongWork long_work)
    : gate_{gate}, clock_{std::move(clock)}, long_work_{std::move(long_work)} {}

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
    add("GET", "rack/reapply", Role::watch, &Api::preview_reapply);
    add("POST", "rack/reapply", Role::operate, &Api::reapply_drifted);
    add("POST", "rack/reload", Role::engineer, &Api::reload);
    add("POST", "rack/reload/arm", Role::engineer, &Api::arm_reload);
    add("GET", "nodes", Role::watch, &Api::list_nodes);
    add("GET", "nodes/{node}", Role::watch, &Api::get_node);
    add("GET", "nodes/{node}/settings", Role::watch, &Api::get_wanted);
    add("PATCH", "nodes/{node}/settings", Role::operate, &Api::patch_wanted);
    add("POST", "nodes/{node}/adopt", Role::operate, &Api::adopt);
    add("POST", "nodes/{node}/reapply", Role::operate, &Api::reapply);
    add("POST", "nodes/{node}/locate", Role::operate, &Api::locate);
    add("POST", "nodes/{node}/store", Role::engineer, &Api::store);
    add("POST", "nodes/{node}/reclaim", Role::engineer, &Api::reclaim);
    add("GET", "nodes/{node}/explain", Role::watch, &Api::explain_node);
    add("GET", "nodes/{node}/recommend", Role::watch, &Api::recommend_node);
    add("POST", "nodes/{node}/what-if", Role::watch, &Api::what_if);
    add("GET", "nodes/{node}/allowed", Role::watch, &Api::get_allowed);
    add("GET", "nodes/{node}/response", Role::watch, &Api::get_response);
    add("GET", "spectrum", Role::watch, &Api::get_spectrum);
    add("GET", "segments", Role::watch, &Api::list_segments);
    add("GET", "segments/{segment}", Role::watch, &Api::get_segment);
    add("GET", "segments/{segment}/recommend", Role::watch, &Api::recommend_segment);
    add("GET", "segments/{segment}/check", Role::watch, &Api::check_segment);
    add("GET", "segments/{segment}/preview", Role::watch, &Api::preview_segment);
    add("GET", "segments/{segment}/crew-sheet", Role::watch, &Api::get_crew_sheet);
    add("POST", "segments/{segment}/crew-sheet/tick", Role::operate, &Api::tick);
    add("POST", "segments/{segment}/crew-sheet/untick", Role::operate, &Api::untick);
    add("GET", "running-order", Role::watch, &Api::get_order);
    add("POST", "running-order/arm", Role::operate, &Api::arm);
    add("POST", "running-order/disarm", Role::operate, &Api::disarm);
    add("POST", "running-order/message", Role::operate, &Api::message);
    add("GET", "switch", Role::watch, &Api::get_switch);
    add("POST", "switch", Role::operate, &Api::go);
    add("POST", "switch/abort", Role::operate, &Api::abort_switch);
    add("GET", "lines", Role::watch, &Api::list_lines);
    add("GET", "lines/{line}", Role::watch, &Api::get_line);
    add("POST", "lines/{line}/discover", Role::engineer, &Api::discover);
    add("POST", "lines/{line}/discovered/{uid}/locate", Role::operate, &Api::locate_found);
    add("GET", "alarms", Role::watch, &Api::list_alarms);
    add("POST", "alarms/acknowledge", Role::operate, &Api::acknowledge_many);
    add("POST", "alarms/{alarm}/acknowledge", Role::operate, &Api::acknowledge);
    add("POST", "alarms/{alarm}/shelve", Role::operate, &Api::shelve);
    add("POST", "alarms/{alarm}/unshelve", Role::operate, &Api::unshelve);
    add("GET", "changes", Role::watch, &Api::list_changes);
    add("GET", "changes/{change}", Role::watch, &Api::get_change);
    add("GET", "journal", Role::watch, &Api::list_journal);
    add("GET", "journal.csv", Role::watch, &Api::journal_table);
    add("GET", "report", Role::watch, &Api::report);
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
    // What watchers may do acts on nothing, and takes no place from keys that guard an act.
    const bool acts = route.method != "GET" && route.role != Role::watch;
    if (acts && replay(request, caller, respond)) return;
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

}  // namespace catwalk::web
