// SPDX-License-Identifier: Apache-2.0
// The record of the show: the journal as rows, as a table for spreadsheets, and as a document.
//
// Long answers are read page by page, so that nothing that has to be recorded waits for long behind
// somebody who reads.
#include <algorithm>
#include <functional>
#include <memory>
#include <utility>

#include "web/server/api_call.hpp"
#include "web/server/journal_csv.hpp"
#include "web/server/journal_query.hpp"
#include "web/server/report.hpp"

namespace catwalk::web {
namespace {

constexpr std::size_t page = 1000;
constexpr std::size_t most_in_table = 50'000;
constexpr std::size_t most_in_report = 5'000;

HttpResponse unreadable() {
  return problem(503, "not-recorded", "The journal cannot be read now.");
}

// Reads pages until there are no more rows, or enough of them.
class Pages : public std::enable_shared_from_this<Pages> {
 public:
  // Gets each page, and says whether it wants more.
  using Take = std::function<void(const std::vector<rack::StoredEntry>&)>;
  // False: the journal could not be read. `more`: there are rows that were not asked for.
  using Done = std::function<void(bool good, bool more)>;

  Pages(Gate& gate, rack::JournalQuery query, std::size_t most, Take take, Done done)
      : gate_{gate},
        query_{std::move(query)},
        left_{most},
        take_{std::move(take)},
        done_{std::move(done)} {}

  void read() {
    // One more than is wanted tells whether there are more.
    query_.limit = std::min(page, left_ + 1);
    gate_.read_journal(query_, [self = shared_from_this()](auto rows) { self->took(rows); });
  }

 private:
  void took(std::optional<std::vector<rack::StoredEntry>>& rows) {
    if (!rows) return done_(false, false);
    const bool last = rows->size() < query_.limit;
    const bool more = rows->size() > left_;
    if (more) rows->resize(left_);
    left_ -= rows->size();
    take_(*rows);
    if (last || more) return done_(true, more);
    query_.before = rows->back().sequence;
    read();
  }

  Gate& gate_;
  rack::JournalQuery query_;
  std::size_t left_;
  Take take_;
  Done done_;
};

}  // namespace

void Api::list_journal(const Call& call) {
  const auto ask = read_journal_query(call.request);
  if (complained(call, ask.complaints)) return;
  gate_.read_journal(ask.query, [respond = call.respond](auto rows) {
    if (!rows) return respond(unreadable());
    Json entries = Json::array();
    for (const auto& row : *rows) entries.push_back(render(row));
    respond(json_response({{"entries", entries}}));
  });
}

void Api::journal_table(const Call& call) {
  auto ask = read_journal_query(call.request, most_in_table);
  if (complained(call, ask.complaints)) return;
  const bool all = !call.request.query.contains("limit");
  const auto most = all ? most_in_table : ask.query.limit;
  const auto text = std::make_shared<std::string>(csv_head());
  std::make_shared<Pages>(
      gate_, std::move(ask.query), most,
      [text](const std::vector<rack::StoredEntry>& rows) {
        for (const auto& row : rows) *text += csv_row(row);
      },
      [text, all, respond = call.respond](bool good, bool more) {
        if (!good) return respond(unreadable());
        // Half a journal that looks like the whole would be worse than none.
        if (all && more)
          return respond(problem(422, "too-many-rows",
                                 "The journal has more than " + std::to_string(most_in_table) +
                                     " such rows; narrow it with from and to, or say how many with "
                                     "limit."));
        respond({200,
                 "text/csv; charset=utf-8; header=present",
                 std::move(*text),
                 {{"Content-Disposition", "attachment; filename=\"journal.csv\""}}});
      })
      ->read();
}

void Api::report(const Call& call) {
  const auto now = clock_();
  const auto time = read_time_query(call.request, now);
  if (complained(call, time.complaints)) return;
  rack::JournalQuery query;
  query.from = time.from;
  query.to = time.to;
  const auto all = std::make_shared<std::vector<rack::StoredEntry>>();
  const ReportAsk ask{time.from, time.to, now, call.caller.name};
  std::make_shared<Pages>(
      gate_, std::move(query), most_in_report,
      [all](const std::vector<rack::StoredEntry>& rows) {
        all->insert(all->end(), rows.begin(), rows.end());
      },
      [this, all, ask, respond = call.respond](bool good, bool more) {
        if (!good) return respond(unreadable());
        const auto write = [snapshot = gate_.snapshot(), all, more, ask]() -> HttpResponse {
          return {200,
                  "text/html; charset=utf-8",
                  report_text(*snapshot, *all, more, ask),
                  {{"Content-Security-Policy", report_policy()}}};
        };
        if (!long_work_.run(write, respond)) respond(too_much_to_compute());
      })
      ->read();
}

}  // namespace catwalk::web
