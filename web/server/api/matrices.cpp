// SPDX-License-Identifier: Apache-2.0
// The matrices: who hears through whom, looked at and changed.
#include <utility>
#include <vector>

#include "web/server/api/asked.hpp"
#include "web/server/api/node_kind.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/documents/render_matrix.hpp"
#include "web/server/http/settings_body.hpp"

namespace catwalk::web {
namespace {

void list_matrices(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  call.respond(json_response({{"matrices", render_matrices(*snapshot, call.desk.clock())}}));
}

void get_matrix(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto* matrix = snapshot->plan->find_matrix({call.names[0]});
  if (matrix == nullptr) return call.respond(not_found("matrix", call.names[0]));
  call.respond(json_response(render(*matrix, *snapshot, call.desk.clock())));
}

// True: there is no such matrix, or it is set by hand, which has been answered.
bool is_not_set_from_here(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto* matrix = snapshot->plan->find_matrix({call.names[0]});
  if (matrix != nullptr && matrix->on_line) return false;
  if (matrix == nullptr)
    call.respond(not_found("matrix", call.names[0]));
  else
    call.respond(not_yet("\"" + call.names[0] +
                         "\" is on no line: it is set by hand, and the rack file says how."));
  return true;
}

void get_routes(const Call& call) {
  if (!is_not_set_from_here(call)) get_wanted_of(call, matrices);
}

void patch_routes(const Call& call) {
  rack::RoutesRequested event;
  Body body{call.request.body};
  const auto matrix = named(call, matrices);
  event.patch = read_matrix_patch(body, matrix ? matrix->matrix_sheet.get() : nullptr);
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  std::vector<BadValue> complaints;
  event.dry_run = wants_dry_run(call.request, complaints);
  if (!read_change(call, matrices, body, event, std::move(complaints))) return;
  if (is_not_set_from_here(call) || (!event.dry_run && lacks_match(call, matrices))) return;
  change(call, event);
}

void cycle_power(const Call& call) {
  rack::PowerCycleRequested event;
  Body body{call.request.body};
  const auto matrix = named(call, matrices);
  const auto inputs =
      matrix && matrix->matrix_sheet ? matrix->matrix_sheet->inputs : plan::most_inputs;
  const auto input = body.whole("input", 1, static_cast<std::int64_t>(inputs));
  body.require("input", input.has_value(), "1 to " + std::to_string(inputs));
  event.input = static_cast<std::size_t>(input.value_or(0));
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  std::vector<BadValue> complaints;
  event.dry_run = wants_dry_run(call.request, complaints);
  if (!read_change(call, matrices, body, event, std::move(complaints))) return;
  if (!is_not_set_from_here(call)) change(call, event);
}

template <class Event>
void settle(const Call& call) {
  if (!is_not_set_from_here(call)) settle_drift<Event>(call, matrices);
}

template <void (*act)(const Call&, const NodeKind&)>
void tell(const Call& call) {
  if (!is_not_set_from_here(call)) act(call, matrices);
}

constexpr Route rows_of_matrices[]{
    get("matrices", list_matrices),
    get("matrices/{matrix}", get_matrix),
    get("matrices/{matrix}/settings", get_routes),
    patch("matrices/{matrix}/settings", Role::operate, patch_routes),
    post("matrices/{matrix}/adopt", Role::operate, settle<rack::AdoptRequested>),
    post("matrices/{matrix}/reapply", Role::operate, settle<rack::ReapplyRequested>),
    post("matrices/{matrix}/power-cycle", Role::operate, cycle_power),
    post("matrices/{matrix}/locate", Role::operate, tell<locate>),
    post("matrices/{matrix}/store", Role::engineer, tell<store>),
    post("matrices/{matrix}/reclaim", Role::engineer, tell<reclaim>),
};

}  // namespace

std::span<const Route> matrices_routes() { return rows_of_matrices; }

}  // namespace catwalk::web
