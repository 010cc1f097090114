// SPDX-License-Identifier: Apache-2.0
// The routes that only look.
#include <algorithm>

#include "web/server/api_call.hpp"
#include "web/server/embedded.hpp"
#include "web/server/input.hpp"
#include "web/server/problem.hpp"

namespace catwalk::web {
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
  const auto snapshot = gate_.snapshot();
  const auto node = snapshot->find({call.names[0]});
  if (!node) return call.respond(not_found("node", call.names[0]));
  if (!node->wanted)
    return call.respond(problem(404, "not-found",
                                "Nothing is wanted of node \"" + call.names[0] +
                                    "\" yet: " + rack::why_nothing_is_wanted(*snapshot, *node)));
  const auto etag = etag_of(*node);
  if (names_tag(call.request.header("if-none-match"), etag))
    return call.respond({304, "", "", {{"ETag", etag}}});
  auto response = json_response(render_wanted(*node));
  response.headers.emplace_back("ETag", etag);
  call.respond(std::move(response));
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

void Api::list_alarms(const Call& call) {
  const auto snapshot = gate_.snapshot();
  Json alarms = Json::array();
  for (const auto& alarm : *snapshot->alarms) alarms.push_back(render(alarm));
  call.respond(json_response({{"alarms", alarms}}));
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

void Api::get_openapi(const Call& call) {
  call.respond({200, "application/json", {}, {}, embedded::openapi_json});
}

}  // namespace catwalk::web
