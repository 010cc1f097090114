// SPDX-License-Identifier: Apache-2.0
// The record of the show: the latest changes, the journal as rows, as a table for spreadsheets, and
// as a document.
#include <algorithm>
#include <string>
#include <utility>

#include "web/server/api/acts.hpp"
#include "web/server/api/journal_query.hpp"
#include "web/server/api/pages.hpp"
#include "web/server/api/routes.hpp"
#include "web/server/documents/journal_csv.hpp"
#include "web/server/documents/render.hpp"
#include "web/server/documents/report.hpp"
#include "web/server/http/input.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {
namespace {

// Each reading is bounded by the store; a list that has not found enough by then says how far it
// came. A table and a report are whole, or are not answered.
constexpr int most_readings_of_list = 8;
constexpr std::size_t most_in_table = 50'000;
constexpr std::size_t most_in_report = 5'000;

HttpResponse unreadable(rack::Unread why) {
  if (why == rack::Unread::failed)
    return problem(503, "not-recorded", "The journal cannot be read now.");
  return passing_problem(503, "too-many-searches",
                         "Too many searches of the journal are waiting; ask again in a moment.",
                         std::chrono::seconds{1});
}

HttpResponse too_many_are_made() {
  return passing_problem(503, "too-many-searches",
                         "Enough tables and reports are being made; ask again in a moment.",
                         std::chrono::seconds{2});
}

void add_json(std::string& text, const rack::StoredEntry& row) {
  text += json_text(render(row)) + ',';
}

void list_changes(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  Json changes = Json::array();
  for (const auto& change : *snapshot->changes) changes.push_back(render(change, *snapshot));
  call.respond(json_response({{"changes", changes}}));
}

void get_change(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  const auto id = parse_whole(call.names[0]);
  const auto found = std::ranges::find(*snapshot->changes, id.value_or(0), &rack::ChangeView::id);
  if (found == snapshot->changes->end())
    return call.respond(problem(404, "not-found",
                                "Change \"" + call.names[0] +
                                    "\" is not among the latest; the journal "
                                    "may have it."));
  call.respond(json_response(render(*found, *snapshot)));
}

void list_journal(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  auto ask =
      read_journal_query(call.request, snapshot->plan->running_order.zone, call.desk.clock());
  if (complained(call, ask.complaints)) return;
  ask.query.asker = call.caller.name;
  const auto most = ask.query.limit;
  read_pages(call.desk.gate, {std::move(ask.query), most, add_json, most_readings_of_list, false},
             [respond = call.respond](Pages::End end) {
               if (end.unread) return respond(unreadable(*end.unread));
               if (!end.text.empty()) end.text.pop_back();  // the comma behind the last
               auto text = "{\"entries\":[" + end.text + ']';
               if (end.looked_down_to)
                 text += ",\"looked_down_to\":" + std::to_string(*end.looked_down_to);
               respond({200, "application/json", std::move(text) + '}', {}});
             });
}

void journal_table(const Call& call) {
  const auto snapshot = call.desk.gate.snapshot();
  auto ask = read_journal_query(call.request, snapshot->plan->running_order.zone, call.desk.clock(),
                                most_in_table);
  if (complained(call, ask.complaints)) return;
  const bool all = !call.request.query.contains("limit");
  const auto most = all ? most_in_table : ask.query.limit;
  ask.query.asker = call.caller.name;
  auto seat = call.desk.makers.begin(call.caller.name);
  if (!seat) return call.respond(too_many_are_made());
  read_pages(
      call.desk.gate,
      {std::move(ask.query), most,
       [zone = snapshot->plan->running_order.zone](
           std::string& text, const rack::StoredEntry& row) { text += csv_row(row, zone); }},
      [all, seat = std::move(seat), respond = call.respond](Pages::End end) {
        if (end.unread) return respond(unreadable(*end.unread));
        // Half a journal that looks like the whole would be worse than none.
        if ((all && end.more) || end.too_long)
          return respond(problem(
              422, "too-many-rows",
              (end.too_long
                   ? "The table would be larger than " + std::to_string(most_text >> 20) + " MiB"
                   : "The journal has more than " + std::to_string(most_in_table) + " such rows") +
                  "; narrow it with from and to, or say how many with limit."));
        respond({200,
                 "text/csv; charset=utf-8; header=present",
                 csv_head() + end.text,
                 {{"Content-Disposition", "attachment; filename=\"journal.csv\""}}});
      });
}

void report(const Call& call) {
  const auto now = call.desk.clock();
  const auto time =
      read_time_query(call.request, call.desk.gate.snapshot()->plan->running_order.zone, now);
  if (complained(call, time.complaints)) return;
  rack::JournalQuery query;
  query.from = time.from;
  query.to = time.to;
  query.asker = call.caller.name;
  ReportAsk ask{time.from, time.to, now, call.caller.name, {}, {}};
  auto seat = call.desk.makers.begin(call.caller.name);
  if (!seat) return call.respond(too_many_are_made());
  // It goes with the answer, and so never dies on a worker.
  Respond answer = [seat = std::move(seat), respond = call.respond](HttpResponse response) {
    respond(std::move(response));
  };
  // First what was on the air when the time begins, which an earlier row says.
  rack::JournalQuery before;
  before.to = time.from;
  before.kind = std::string{rack::name_of(rack::JournalKind::carriers)};
  before.asker = call.caller.name;
  const auto with_what_was_on_the_air = [&desk = call.desk, ask, query = std::move(query),
                                         answer = std::move(answer)](Pages::End first) mutable {
    if (first.unread) return answer(unreadable(*first.unread));
    if (!first.rows.empty()) ask.on_the_air = first.rows.front();
    read_pages(desk.gate, {std::move(query), most_in_report},
               [&desk, ask, answer = std::move(answer)](Pages::End end) {
                 if (end.unread) return answer(unreadable(*end.unread));
                 auto told = ask;
                 // Not before the rows are there, so that it stands for all of them.
                 told.head = desk.gate.anchor_journal();
                 const auto write = [snapshot = desk.gate.snapshot(), rows = std::move(end.rows),
                                     more = end.more, told]() -> HttpResponse {
                   return {200,
                           "text/html; charset=utf-8",
                           report_text(*snapshot, rows, more, told),
                           {{"Content-Security-Policy", report_policy()}}};
                 };
                 if (!desk.long_work.soon(write, answer)) answer(too_much_to_compute());
               });
  };
  read_pages(call.desk.gate, {std::move(before), 1}, with_what_was_on_the_air);
}

constexpr Route rows_of_record[]{
    get("changes", list_changes), get("changes/{change}", get_change),
    get("journal", list_journal), get("journal.csv", journal_table),
    get("report", report),
};

}  // namespace

std::span<const Route> record_routes() { return rows_of_record; }

}  // namespace catwalk::web
