// SPDX-License-Identifier: Apache-2.0
// The segments of the show, and the crew sheets: what people do on the way to one, and what of it
// is done.
#include <algorithm>
#include <utility>

#include "web/server/api/acts.hpp"
#include "web/server/api/asked.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/documents/render_switch.hpp"
#include "web/server/http/input.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

Json sheet_of(const rack::Snapshot& snapshot, const plan::SegmentName& left,
              const plan::SegmentName& entered) {
  return render_crew(
      left, entered,
      rack::crew_sheet(*snapshot.plan->find(left), *snapshot.plan->find(entered), *snapshot.ticks));
}

// Precondition: the show has both segments.
std::vector<BadValue> unknown_rows(const rack::Snapshot& snapshot, const plan::SegmentName& left,
                                   const plan::SegmentName& entered,
                                   const std::vector<std::string>& rows) {
  const auto sheet = rack::crew_sheet(*snapshot.plan->find(left), *snapshot.plan->find(entered));
  const std::string allowed =
      "keys of rows of the crew sheet of " + left.text + " → " + entered.text;
  std::vector<BadValue> complaints;
  for (std::size_t i = 0; i < rows.size(); ++i)
    if (std::ranges::find(sheet, rows[i], &rack::CrewRow::key) == sheet.end())
      complaints.push_back({"/rows/" + std::to_string(i), rows[i], allowed,
                            "There is no row \"" + rows[i] + "\" on the crew sheet of " +
                                left.text + " → " + entered.text + '.'});
  if (rows.empty())
    complaints.push_back({"/rows", "[]", allowed, "rows is empty; allowed is " + allowed + '.'});
  return complaints;
}

void list_segments(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  Json segments = Json::array();
  for (const auto& segment : snapshot->plan->segments) segments.push_back(render(segment));
  call.respond(json_response({{"active", snapshot->segment.text}, {"segments", segments}}));
}

void get_segment(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto* segment = snapshot->plan->find(plan::SegmentName{call.names[0]});
  call.respond(segment == nullptr ? not_found("segment", call.names[0])
                                  : json_response(render(*segment)));
}

void get_crew_sheet(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const plan::SegmentName segment{call.names[0]};
  if (snapshot->plan->find(segment) == nullptr)
    return call.respond(not_found("segment", segment.text));
  auto complaints = unknown_parameters(call.request, {"from"});
  const auto from = segment_to_leave(*snapshot, in_query(call, "from"), segment, complaints);
  if (complained(call, complaints)) return;
  call.respond(json_response(sheet_of(*snapshot, from, segment)));
}

// Answered with the sheet as it is then.
void tick_rows(const Call& call, bool done) {
  const auto snapshot = call.desk.gate.snapshot();
  const plan::SegmentName segment{call.names[0]};
  if (snapshot->plan->find(segment) == nullptr)
    return call.respond(not_found("segment", segment.text));
  Body body{call.request.body};
  const Asked asked{body.text("from", longest_name), "/from"};
  auto rows = body.names("rows", "rows of the crew sheet");
  body.require("rows", !rows.empty(), "a list of keys of rows of the crew sheet");
  auto complaints = body.finish();
  const auto from = segment_to_leave(*snapshot, asked, segment, complaints);
  if (complaints.empty()) complaints = unknown_rows(*snapshot, from, segment, rows);
  if (complained(call, complaints)) return;
  call.desk.gate.ask(
      rack::TickRequested{0, from, segment, std::move(rows), done, call.caller.name},
      [&desk = call.desk, from, segment, respond = call.respond](const rack::Answer& answer) {
        const auto now = desk.gate.snapshot();
        const bool known = now->plan->find(from) && now->plan->find(segment);
        respond(answer.outcome == rack::Outcome::done && known
                    ? json_response(sheet_of(*now, from, segment))
                    : respond_to(answer, *now, desk.clock()));
      });
}

void tick(const Call& call) { tick_rows(call, true); }

void untick(const Call& call) { tick_rows(call, false); }

constexpr Route rows_of_segments[]{
    get("segments", list_segments),
    get("segments/{segment}", get_segment),
    get("segments/{segment}/crew-sheet", get_crew_sheet),
    post("segments/{segment}/crew-sheet/tick", Role::operate, tick),
    post("segments/{segment}/crew-sheet/untick", Role::operate, untick),
};

}  // namespace

std::span<const Route> segments_routes() { return rows_of_segments; }

}  // namespace catwalk::web
