// SPDX-License-Identifier: Apache-2.0
#pragma once
// The field side: lines, store and core on one thread, and the gate through which the panel side
// reaches them. Carries out the core's effects and turns what happens into events.

#include <atomic>
#include <chrono>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <unordered_map>
#include <vector>

#include "daemon/base/worker.hpp"
#include "daemon/control/counters.hpp"
#include "daemon/rack/core/core.hpp"
#include "daemon/shell/wall_clock.hpp"
#include "daemon/store/store_thread.hpp"
#include "drivers/line/line.hpp"
#include "web/server/api/gate.hpp"

namespace catwalk::shell {

// One line by the name that the rack file gives it.
struct NamedLine {
  plan::LineName name;
  std::unique_ptr<drivers::Line> line;
};

// Ways to the two threads; each runs a task soon, and may be called from any thread.
using Post = std::function<void(std::function<void()>)>;

class Field final : public web::Gate {
 public:
  // Everything but Gate's functions is called on the field thread, which `on_field` leads to.
  // `found`: what was wrong with the journal that was there; empty: nothing, and its chain is to be
  // looked at.
  Field(rack::Core core, store::Journal journal, std::string found, std::vector<NamedLine> lines,
        Post on_field, Post on_panel);
  ~Field() override;

  // Reads the files again on the field thread; why not, a sentence each, or none.
  using Reload = std::function<web::NotTaken(const std::string& who)>;

  // Opens the lines. `published` is told of every new snapshot, `turned` of every event that was
  // worked on: until_next_look() may be shorter now. Both on the field thread.
  void start(std::function<void()> published, std::function<void()> turned, Reload reload);
  // Closes the lines and finishes what the store was asked for. Nodes keep their settings.
  void stop();
  void on(const rack::Event& event);
  // Closes the line of this name, whose commands end, and opens this one in its place.
  void replace(NamedLine line);
  // Looks at the clock, and tells the core what it has to be told. To be called when
  // until_next_look() is over.
  void look_at_clock();
  std::chrono::microseconds until_next_look() const;

  // For who lives on the field thread: puts a request to the core, and is told of each of its
  // answers at once; `accepted` is followed by another.
  void ask_here(rack::Event request, Answered answered);
  // Told of every abort that the panel side asks for.
  void on_panel_abort(std::function<void()> aborted) { aborted_ = std::move(aborted); }
  void show_control_counted(const control::Counters& counters);

  // Gate: from the panel thread.
  rack::SnapshotPtr snapshot() const override;
  using Gate::ask;
  void ask(rack::Event request, Answered answered, Until until) override;
  void read_journal(rack::JournalQuery query, Render render, Page page) override;
  web::JournalFigures journal_figures() const override;
  rack::JournalHead anchor_journal() override;
  std::vector<web::LineFigures> line_figures() const override;
  web::Totals show_control_figures() const override;
  void reload(std::string who, Reloaded reloaded) override;
  void turned_away(rack::TurnedAway what) override;

 private:
  struct Waiting;
  void put(rack::Event request, Waiting waiting);
  void answer(rack::Respond& what);
  void heard(const plan::LineName& name, const drivers::Notice& notice);
  void carry_out(rack::Effect& effect);
  void plan(rack::PlanWay what);
  drivers::Line* find(const plan::LineName& name);
  void count_lines();
  void record_ended(rack::RecordId id, const std::optional<store::StoreError>& error);
  void log_anchor(const char* why);

  rack::Core core_;
  std::vector<NamedLine> lines_;
  Post on_field_;
  Post on_panel_;
  std::function<void()> published_;
  std::function<void()> turned_;
  std::function<void()> aborted_;
  bool is_published_ = false;  // in this turn
  Reload reload_;
  bool stopped_ = false;
  rack::TimePoint counted_at_;
  std::set<std::string> others_on_;  // lines where another controller was heard, as was logged

  rack::RequestId last_request_ = 0;
  struct Waiting {
    Answered answered;
    Until until = Until::fate;
    bool here = false;  // on this thread, and every answer
  };
  std::unordered_map<rack::RequestId, Waiting> waiting_;

  std::string journal_found_;
  std::uint64_t failed_at_once_ = 0;  // records since one was kept
  std::chrono::steady_clock::time_point anchored_at_;
  std::atomic<std::uint64_t> anchored_row_{0};  // with a report
  std::atomic<std::uint64_t> records_failed_{0};
  std::atomic<std::uint64_t> readings_refused_{0};

  mutable std::mutex mutex_;  // guards the three below: all that both threads look at
  rack::SnapshotPtr snapshot_;
  std::vector<web::LineFigures> figures_;
  std::optional<control::Counters> show_control_;

  WallClock clock_;
  // Last: their threads call back until they are gone.
  std::unique_ptr<Worker> planner_;
  std::unique_ptr<store::StoreThread> store_;
};

}  // namespace catwalk::shell
