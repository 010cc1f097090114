// SPDX-License-Identifier: Apache-2.0
// The routes of the crew sheets: what people do on the way to a segment, and what of it is done.
#include <algorithm>
#include <utility>

#include "web/server/api_call.hpp"
#include "web/server/asked.hpp"
#include "web/server/input.hpp"
#include "web/server/problem.hpp"
#include "web/server/render_switch.hpp"

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

}  // namespace

void Api::get_crew_sheet(const Call& call) {
  const auto snapshot = gate_.snapshot();
  const plan::SegmentName segment{call.names[0]};
  if (snapshot->plan->find(segment) == nullptr)
    return call.respond(not_found("segment", segment.text));
  auto complaints = unknown_parameters(call.request, {"from"});
  const auto from = segment_to_leave(*snapshot, in_query(call, "from"), segment, complaints);
  if (complained(call, complaints)) return;
  call.respond(json_response(sheet_of(*snapshot, from, segment)));
}

void Api::tick(const Call& call) { tick_rows(call, true); }
void Api::untick(const Call& call) { tick_rows(call, false); }

// Answered with the sheet as it is then.
void Api::tick_rows(const Call& call, bool done) {
  const auto snapshot = gate_.snapshot();
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
  gate_.ask(rack::TickRequested{0, from, segment, std::move(rows), done, call.caller.name},
            [this, from, segment, respond = call.respond](const rack::Answer& answer) {
              const auto now = gate_.snapshot();
              const bool known = now->plan->find(from) && now->plan->find(segment);
              respond(answer.outcome == rack::Outcome::done && known
                          ? json_response(sheet_of(*now, from, segment))
                          : respond_to(answer, *now->plan, clock_()));
            });
}

}  // namespace catwalk::web
