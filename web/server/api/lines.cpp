// SPDX-License-Identifier: Apache-2.0
// The lines, and the nodes that a search finds on them.
#include <algorithm>

#include "web/server/api/acts.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/documents/render.hpp"
#include "web/server/http/input.hpp"

namespace catwalk::web {
namespace {

void list_lines(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  Json lines = Json::array();
  for (const auto& line : *snapshot->lines) lines.push_back(render(line));
  call.respond(json_response({{"lines", lines}}));
}

void get_line(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto found =
      std::ranges::find(*snapshot->lines, plan::LineName{call.names[0]}, &rack::LineView::name);
  call.respond(found == snapshot->lines->end() ? not_found("line", call.names[0])
                                               : json_response(render(*found)));
}

void discover(const Call& call) {
  Body body{call.request.body};
  if (complained(call, body.finish())) return;
  act(call, rack::DiscoverRequested{0, {call.names[0]}, call.caller.name});
}

// Whether it stands in the rack file or not.
void locate_found(const Call& call) {
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

constexpr Route rows_of_lines[]{
    get("lines", list_lines),
    get("lines/{line}", get_line),
    post("lines/{line}/discover", Role::engineer, discover),
    post("lines/{line}/discovered/{uid}/locate", Role::operate, locate_found),
};

}  // namespace

std::span<const Route> lines_routes() { return rows_of_lines; }

}  // namespace catwalk::web
