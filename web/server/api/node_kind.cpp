// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/node_kind.hpp"

#include "web/server/api/asked.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {

bool is_of_other_kind(const Call& call, const NodeKind& kind) {
  const auto snapshot = call.desk.gate.snapshot();
  if (!((*snapshot).*kind.find_other)({call.names[0]})) return false;
  call.respond(not_found(kind.what, call.names[0]));
  return true;
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

bool lacks_match(const Call& call, const NodeKind& kind) {
  if (call.request.has_header("if-match")) return false;
  call.respond(problem(428, "if-match",
                       "Say with If-Match which revision of the settings you change: the ETag of "
                       "GET /api/v1/" +
                           std::string{kind.folder} + '/' + call.names[0] + "/settings."));
  return true;
}

bool has_only_weak_match(const Call& call, const IfMatch& match, const rack::NodeViewPtr& node) {
  if (!match.only_weak || !node) return false;
  const rack::Answer stale{
      rack::Outcome::stale,
      "If-Match is " + std::string{call.request.header("if-match")} +
          ": a weak tag never matches there; allowed is the ETag of the settings, " +
          etag_of(*node) + ".",
      {},
      0,
      node};
  call.respond(respond_to(stale, *call.desk.gate.snapshot(), call.desk.clock()));
  return true;
}

void get_wanted_of(const Call& call, const NodeKind& kind) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto node = ((*snapshot).*kind.find)({call.names[0]});
  if (!node) return call.respond(not_found(kind.what, call.names[0]));
  if (!node->wanted)
    return call.respond(not_yet("Nothing is wanted of " + std::string{kind.what} + " \"" +
                                call.names[0] +
                                "\" yet: " + rack::why_nothing_is_wanted(*snapshot, *node)));
  const auto etag = etag_of(*node);
  if (names_tag(call.request.header("if-none-match"), etag))
    return call.respond({304, "", "", {{"ETag", etag}}});
  auto response = json_response(render_wanted(*node));
  response.headers.emplace_back("ETag", etag);
  call.respond(std::move(response));
}

void locate(const Call& call, const NodeKind& kind) {
  Body body{call.request.body};
  const auto seconds = read_seconds(body);
  if (complained(call, body.finish()) || is_of_other_kind(call, kind)) return;
  act(call, rack::LocateRequested{0, {call.names[0]}, seconds, call.caller.name});
}

void store(const Call& call, const NodeKind& kind) {
  Body body{call.request.body};
  if (complained(call, body.finish()) || is_of_other_kind(call, kind)) return;
  act(call, rack::StoreRequested{0, {call.names[0]}, call.caller.name});
}

void reclaim(const Call& call, const NodeKind& kind) {
  const auto why = required_why(call);
  if (why && !is_of_other_kind(call, kind))
    act(call, rack::ReclaimRequested{0, {call.names[0]}, call.caller.name, *why});
}

}  // namespace catwalk::web
