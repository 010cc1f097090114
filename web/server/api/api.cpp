// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/api.hpp"

#include <utility>

#include "web/server/api/routes.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

struct Known {
  Route row;
  std::vector<std::string> pattern;  // "{…}" stands for any one part
};

const std::vector<Known>& routes() {
  static const auto table = [] {
    std::vector<Known> known;
    for (const auto rows :
         {rack_routes(), nodes_routes(), matrices_routes(), physics_routes(), spectrum_routes(),
          segments_routes(), order_routes(), lines_routes(), alarms_routes(), record_routes()})
      for (const auto& row : rows) known.push_back({row, path_parts(row.path)});
    return known;
  }();
  return table;
}

}  // namespace

Api::Api(Gate& gate, WallClock clock, LongWork long_work)
    : desk_{new Desk{gate, std::move(clock), std::move(long_work)}} {}

Api::~Api() = default;

std::vector<std::string> Api::route_names() {
  std::vector<std::string> names;
  for (const auto& route : routes()) {
    auto name = route.row.method + std::string{' '};
    for (const auto& part : route.pattern) name += '/' + part;
    names.push_back(std::move(name));
  }
  return names;
}

void Api::handle(const HttpRequest& request, const Caller& caller, Respond respond) {
  // Asked like a GET, and told the same but for the body: RFC 9110, section 9.3.2.
  const std::string_view method =
      request.method == "HEAD" ? std::string_view{"GET"} : std::string_view{request.method};
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
    if (method != route.row.method) {
      allowed += std::string{allowed.empty() ? "" : ", "} + route.row.method;
      if (route.row.method == std::string_view{"GET"}) allowed += ", HEAD";
      continue;
    }
    if (caller.role < route.row.role) {
      respond(problem(403, "role",
                      "This needs the role " + std::string{name_of(route.row.role)} + "; " +
                          caller.name + " has " + std::string{name_of(caller.role)} + "."));
      return;
    }
    // What watchers may do acts on nothing, and takes no place from keys that guard an act.
    const bool acts = method != "GET" && route.row.role != Role::watch;
    if (acts && replay(request, caller, respond)) return;
    route.row.run({*desk_, request, caller, respond, std::move(names)});
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
