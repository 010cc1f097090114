// SPDX-License-Identifier: Apache-2.0
// The record of the show: the journal as rows, as a table for spreadsheets, and as a document.
//
// Long answers are read page by page, so that this thread and whoever else reads have their turn in
// between.
#include <algorithm>
#include <functional>
#include <limits>
#include <memory>
#include <utility>

#include "web/server/api_call.hpp"
#include "web/server/journal_csv.hpp"
#include "web/server/journal_query.hpp"
#include "web/server/report.hpp"

namespace catwalk::web {
namespace {

constexpr std::size_t page = 1000;
// Rows of a list are made into JSON a few at a time, between other work of this thread.
constexpr std::size_t list_page = 100;
// Each reading is bounded by the store; a list that has not found enough by then says how far it
// came. A table and a report are whole, or are not answered.
constexpr int most_readings_of_list = 8;
constexpr std::size_t most_in_table = 50'000;
constexpr std::size_t most_in_report = 5'000;

HttpResponse unreadable(rack::Unread why) {
  if (why == rack::Unread::failed)
    return problem(503, "not-recorded", "The journal cannot be read now.");
  auto response = problem(503, "too-many-searches",
                          "Too many searches of the journal are waiting; ask again in a moment.");
  response.headers.emplace_back("Retry-After", "1");
  return response;
}

// Reads pages until there are no more rows, or enough of them.
class Pages : public std::enable_shared_from_this<Pages> {
 public:
  // Gets each page, and says whether it wants more.
  using Take = std::function<void(const std::vector<rack::StoredEntry>&)>;
  struct End {
    std::optional<rack::Unread> unread;                // why it could not be read
    bool more = false;                                 // there are rows that were not asked for
    std::optional<std::uint64_t> looked_down_to = {};  // all readings are used up
  };
  using Done = std::function<void(const End&)>;
  struct Bounds {
    std::size_t rows = 0;  // in all
    std::size_t page = web::page;
    int readings = std::numeric_limits<int>::max();
  };

  Pages(Gate& gate, rack::JournalQuery query, Bounds bounds, Take take, Done done)
      : gate_{gate},
        query_{std::move(query)},
        left_{bounds.rows},
        page_{bounds.page},
        readings_{bounds.readings},
        take_{std::move(take)},
        done_{std::move(done)} {}

  void read() {
    // One more than is wanted tells whether there are more.
    query_.limit = std::min(page_, left_ + 1);
    gate_.read_journal(query_, [self = shared_from_this()](auto read) { self->took(read); });
  }

 private:
  void took(Gate::JournalRead& read) {
    if (!read) return done_({read.error()});
    auto& [rows, looked_down_to] = read.value();
    const bool full = rows.size() >= query_.limit;
    const bool more = rows.size() > left_;
    if (more) rows.resize(left_);
    left_ -= rows.size();
    take_(rows);
    if (more) return done_({{}, true});
    if (!full && !looked_down_to) return done_({});
    query_.before = full ? rows.back().sequence : *looked_down_to;
    if (!full && --readings_ == 0) return done_({{}, false, looked_down_to});
    query_.goes_on = true;
    this->read();
  }

  Gate& gate_;
  rack::JournalQuery query_;
  std::size_t left_;
  std::size_t page_;
  int readings_;  // left, of those that end at the store's bound
  Take take_;
  Done done_;
};

}  // namespace

void Api::list_journal(const Call& call) {
  auto ask = read_journal_query(call.request);
  if (complained(call, ask.complaints)) return;
  ask.query.asker = call.caller.name;
  const auto most = ask.query.limit;
  const auto text = std::make_shared<std::string>("{\"entries\":[");
  std::make_shared<Pages>(
      gate_, std::move(ask.query), Pages::Bounds{most, list_page, most_readings_of_list},
      [text](const std::vector<rack::StoredEntry>& rows) {
        for (const auto& row : rows) {
          if (text->back() != '[') *text += ',';
          *text += json_response(render(row)).body;
        }
      },
      [text, respond = call.respond](const Pages::End& end) {
        if (end.unread) return respond(unreadable(*end.unread));
        *text += ']';
        if (end.looked_down_to)
          *text += ",\"looked_down_to\":" + std::to_string(*end.looked_down_to);
        respond({200, "application/json", std::move(*text) + '}', {}});
      })
      ->read();
}

void Api::journal_table(const Call& call) {
  auto ask = read_journal_query(call.request, most_in_table);
  if (complained(call, ask.complaints)) return;
  const bool all = !call.request.query.contains("limit");
  const auto most = all ? most_in_table : ask.query.limit;
  ask.query.asker = call.caller.name;
  const auto text = std::make_shared<std::string>(csv_head());
  std::make_shared<Pages>(
      gate_, std::move(ask.query), Pages::Bounds{most},
      [text](const std::vector<rack::StoredEntry>& rows) {
        for (const auto& row : rows) *text += csv_row(row);
      },
      [text, all, respond = call.respond](const Pages::End& end) {
        if (end.unread) return respond(unreadable(*end.unread));
        // Half a journal that looks like the whole would be worse than none.
        if (all && end.more)
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
  query.asker = call.caller.name;
  const auto all = std::make_shared<std::vector<rack::StoredEntry>>();
  ReportAsk ask{time.from, time.to, now, call.caller.name, {}};
  std::make_shared<Pages>(
      gate_, std::move(query), Pages::Bounds{most_in_report},
      [all](const std::vector<rack::StoredEntry>& rows) {
        all->insert(all->end(), rows.begin(), rows.end());
      },
      [this, all, ask, respond = call.respond](const Pages::End& end) mutable {
        if (end.unread) return respond(unreadable(*end.unread));
        // Not before the rows are there, so that it stands for all of them.
        ask.head = gate_.anchor_journal();
        const auto write = [snapshot = gate_.snapshot(), all, more = end.more,
                            ask]() -> HttpResponse {
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
