// SPDX-License-Identifier: Apache-2.0
// The record of the show: the journal as rows, as a table for spreadsheets, and as a document.
//
// Long answers are read page by page, so that whoever else reads has a turn in between, and are
// made into text where they are read.
#include <algorithm>
#include <functional>
#include <iterator>
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
// Each reading is bounded by the store; a list that has not found enough by then says how far it
// came. A table and a report are whole, or are not answered.
constexpr int most_readings_of_list = 8;
constexpr std::size_t most_in_table = 50'000;
constexpr std::size_t most_in_report = 5'000;
constexpr std::size_t most_text = 16'777'216;  // bytes of a table

HttpResponse unreadable(rack::Unread why) {
  if (why == rack::Unread::failed)
    return problem(503, "not-recorded", "The journal cannot be read now.");
  return passing_problem(503, "too-many-searches",
                         "Too many searches of the journal are waiting; ask again in a moment.",
                         std::chrono::seconds{1});
}

// Reads pages until there are no more rows, or enough of them.
class Pages : public std::enable_shared_from_this<Pages> {
 public:
  struct End {
    std::optional<rack::Unread> unread = {};           // why it could not be read
    bool more = false;                                 // there are rows that were not asked for
    bool too_long = false;                             // its text would be longer than most_text
    std::optional<std::uint64_t> looked_down_to = {};  // all readings are used up
    std::string text = {};                             // of all pages, one after the other
    std::vector<rack::StoredEntry> rows = {};          // or, without a text, they themselves
  };
  using Done = std::function<void(End)>;
  using Row = std::function<void(std::string& text, const rack::StoredEntry& row)>;
  struct Ask {
    rack::JournalQuery query;
    std::size_t rows = 0;  // in all
    Row row = nullptr;     // adds to the text
    int readings = std::numeric_limits<int>::max();
    bool tells_of_more = true;  // for which one row more than is wanted has to be read
  };

  Pages(Gate& gate, Ask ask, Done done)
      : gate_{gate}, ask_{std::move(ask)}, done_{std::move(done)} {}

  void read() {
    ask_.query.limit = std::min(page, ask_.rows + (ask_.tells_of_more ? 1 : 0));
    Gate::Render render;
    if (ask_.row != nullptr)
      render = [row = ask_.row, wanted = ask_.rows](const std::vector<rack::StoredEntry>& rows) {
        std::string text;
        for (std::size_t i = 0; i < std::min(wanted, rows.size()); ++i) row(text, rows[i]);
        return text;
      };
    gate_.read_journal(ask_.query, std::move(render),
                       [self = shared_from_this()](auto read) { self->took(std::move(read)); });
  }

 private:
  void took(Gate::JournalRead read) {
    if (!read) return finish({.unread = read.error()});
    auto& [rows, looked_down_to] = read.value().page;
    const bool full = rows.size() >= ask_.query.limit;
    const bool more = rows.size() > ask_.rows;
    if (full) ask_.query.before = rows.back().sequence;
    if (more) rows.resize(ask_.rows);
    ask_.rows -= rows.size();
    end_.text += read.value().text;
    // A list has so few rows that it goes out whatever they are.
    if (ask_.tells_of_more && end_.text.size() > most_text) return finish({.too_long = true});
    if (ask_.row == nullptr) std::ranges::move(rows, std::back_inserter(end_.rows));
    if (more || (ask_.rows == 0 && !ask_.tells_of_more)) return finish({.more = more});
    if (!full && !looked_down_to) return finish({});
    if (!full) ask_.query.before = looked_down_to;
    if (!full && --ask_.readings == 0) return finish({.looked_down_to = looked_down_to});
    ask_.query.goes_on = true;
    this->read();
  }
  void finish(End end) {
    end.text = std::move(end_.text);
    end.rows = std::move(end_.rows);
    done_(std::move(end));
  }

  Gate& gate_;
  Ask ask_;  // what is left of it
  Done done_;
  End end_;
};

void read_pages(Gate& gate, Pages::Ask ask, Pages::Done done) {
  std::make_shared<Pages>(gate, std::move(ask), std::move(done))->read();
}

HttpResponse too_many_are_made() {
  return passing_problem(503, "too-many-searches",
                         "Enough tables and reports are being made; ask again in a moment.",
                         std::chrono::seconds{2});
}

void add_json(std::string& text, const rack::StoredEntry& row) {
  text += json_text(render(row)) + ',';
}

}  // namespace

Makers::Place Makers::begin(const std::string& asker) {
  if (busy_->size() >= most || busy_->count(asker) >= most_of_one) return nullptr;
  busy_->insert(asker);
  return {new std::string{asker}, [busy = busy_](const std::string* one) {
            busy->erase(busy->find(*one));
            delete one;
          }};
}

void Api::list_journal(const Call& call) {
  const auto snapshot = gate_.snapshot();
  auto ask = read_journal_query(call.request, snapshot->plan->running_order.zone, clock_());
  if (complained(call, ask.complaints)) return;
  ask.query.asker = call.caller.name;
  const auto most = ask.query.limit;
  read_pages(gate_, {std::move(ask.query), most, add_json, most_readings_of_list, false},
             [respond = call.respond](Pages::End end) {
               if (end.unread) return respond(unreadable(*end.unread));
               if (!end.text.empty()) end.text.pop_back();  // the comma behind the last
               auto text = "{\"entries\":[" + end.text + ']';
               if (end.looked_down_to)
                 text += ",\"looked_down_to\":" + std::to_string(*end.looked_down_to);
               respond({200, "application/json", std::move(text) + '}', {}});
             });
}

void Api::journal_table(const Call& call) {
  const auto snapshot = gate_.snapshot();
  auto ask =
      read_journal_query(call.request, snapshot->plan->running_order.zone, clock_(), most_in_table);
  if (complained(call, ask.complaints)) return;
  const bool all = !call.request.query.contains("limit");
  const auto most = all ? most_in_table : ask.query.limit;
  ask.query.asker = call.caller.name;
  auto place = makers_.begin(call.caller.name);
  if (!place) return call.respond(too_many_are_made());
  read_pages(
      gate_,
      {std::move(ask.query), most,
       [zone = snapshot->plan->running_order.zone](
           std::string& text, const rack::StoredEntry& row) { text += csv_row(row, zone); }},
      [all, place = std::move(place), respond = call.respond](Pages::End end) {
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

void Api::report(const Call& call) {
  const auto now = clock_();
  const auto time = read_time_query(call.request, gate_.snapshot()->plan->running_order.zone, now);
  if (complained(call, time.complaints)) return;
  rack::JournalQuery query;
  query.from = time.from;
  query.to = time.to;
  query.asker = call.caller.name;
  ReportAsk ask{time.from, time.to, now, call.caller.name, {}, {}};
  auto place = makers_.begin(call.caller.name);
  if (!place) return call.respond(too_many_are_made());
  // It goes with the answer, and so never dies on a worker.
  Respond answer = [place = std::move(place), respond = call.respond](HttpResponse response) {
    respond(std::move(response));
  };
  // First what was on the air when the time begins, which an earlier row says.
  rack::JournalQuery before;
  before.to = time.from;
  before.kind = std::string{rack::name_of(rack::JournalKind::carriers)};
  before.asker = call.caller.name;
  const auto with_what_was_on_the_air = [this, ask, query = std::move(query),
                                         answer = std::move(answer)](Pages::End first) mutable {
    if (first.unread) return answer(unreadable(*first.unread));
    if (!first.rows.empty()) ask.on_the_air = first.rows.front();
    read_pages(gate_, {std::move(query), most_in_report},
               [this, ask, answer = std::move(answer)](Pages::End end) {
                 if (end.unread) return answer(unreadable(*end.unread));
                 auto told = ask;
                 // Not before the rows are there, so that it stands for all of them.
                 told.head = gate_.anchor_journal();
                 const auto write = [snapshot = gate_.snapshot(), rows = std::move(end.rows),
                                     more = end.more, told]() -> HttpResponse {
                   return {200,
                           "text/html; charset=utf-8",
                           report_text(*snapshot, rows, more, told),
                           {{"Content-Security-Policy", report_policy()}}};
                 };
                 if (!long_work_.soon(write, answer)) answer(too_much_to_compute());
               });
  };
  read_pages(gate_, {std::move(before), 1}, with_what_was_on_the_air);
}

}  // namespace catwalk::web
