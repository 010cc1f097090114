// SPDX-License-Identifier: Apache-2.0
// The rack: what it is, the show lock, the segment, take-over, reload; the API's own description.
#include <algorithm>
#include <iterator>
#include <string>

#include "web/server/api/acts.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/documents/render.hpp"
#include "web/server/http/embedded.hpp"
#include "web/server/http/input.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

void get_rack(const Call& call) {
  call.respond(json_response(render_rack(*call.desk.gate.snapshot())));
}

void lock(const Call& call) {
  if (const auto why = only_why(call))
    act(call, rack::LockRequested{0, true, call.caller.name, *why});
}

void unlock(const Call& call) {
  if (const auto why = only_why(call))
    act(call, rack::LockRequested{0, false, call.caller.name, *why});
}

void choose_segment(const Call& call) {
  Body body{call.request.body};
  const auto segment = body.text("segment", 64);
  const auto why = read_why(body);
  body.require("segment", segment.has_value(), "the name of a segment");
  if (complained(call, body.finish())) return;
  act(call, rack::SegmentRequested{0, {*segment}, call.caller.name, why});
}

// It shuts another controller out of the grid: nobody does that without saying why.
void take_over(const Call& call) {
  if (const auto why = required_why(call))
    act(call, rack::TakeOverRequested{0, call.caller.name, *why});
}

void reload(const Call& call) {
  Body body{call.request.body};
  if (complained(call, body.finish())) return;
  call.desk.gate.reload(call.caller.name, [respond = call.respond](const NotTaken& not_taken) {
    if (not_taken.empty())
      return respond(json_response({{"outcome", "done"}, {"findings", Json::array()}}));
    auto all = not_taken.of_files;
    std::ranges::copy(not_taken.of_rack, std::back_inserter(all));
    Json members = {{"problems", std::move(all)}};
    constexpr auto detail = "The files were not taken; the old ones stay in force.";
    if (!not_taken.of_files.empty())
      return respond(problem_with(422, "bad-files", detail, members));
    // There is nothing wrong with the files: another time they are taken.
    members["outcome"] = rack::name_of(rack::Outcome::refused);
    members["findings"] = Json::array();
    respond(problem_with(409, "refused", detail, members));
  });
}

void arm_reload(const Call& call) {
  if (auto why = only_why(call))
    act(call, rack::ArmReloadRequested{0, call.caller.name, *std::move(why)});
}

void get_openapi(const Call& call) {
  call.respond({200, "application/json", {}, {}, embedded::openapi_json});
}

constexpr Route rows_of_rack[]{
    get("rack", get_rack),
    post("rack/lock", Role::operate, lock),
    post("rack/unlock", Role::operate, unlock),
    post("rack/segment", Role::operate, choose_segment),
    post("rack/take-over", Role::engineer, take_over),
    post("rack/reload", Role::engineer, reload),
    post("rack/reload/arm", Role::engineer, arm_reload),
    get("openapi.json", get_openapi),
};

}  // namespace

std::span<const Route> rack_routes() { return rows_of_rack; }

}  // namespace catwalk::web
