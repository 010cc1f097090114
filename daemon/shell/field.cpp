// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/field.hpp"
#include "daemon/base/overloaded.hpp"
#include "daemon/shell/found_on_line.hpp"

#include <spdlog/spdlog.h>

#include <algorithm>
#include <chrono>
#include <utility>

namespace catwalk::shell {
namespace {

// The core waits for three at most (PlanWay); the rest is for those that nobody wants any more.
constexpr std::size_t most_ways_waiting = 16;
// So that a wall clock that was put is noticed in time.
constexpr std::chrono::seconds longest_without_look{1};
constexpr std::chrono::hours longest_without_anchor{24};

}  // namespace

Field::Field(rack::Core core, store::Journal journal, std::string found,
             std::vector<NamedLine> lines, Post on_field, Post on_panel)
    : core_{std::move(core)},
      lines_{std::move(lines)},
      on_field_{std::move(on_field)},
      on_panel_{std::move(on_panel)},
      journal_found_{std::move(found)},
      snapshot_{core_.snapshot()},
      clock_{now(), std::chrono::steady_clock::now()},
      planner_{std::make_unique<Worker>(most_ways_waiting, Worker::Manner::hurries)},
      store_{std::make_unique<store::StoreThread>(
          std::move(journal), [this](rack::RecordId id, std::optional<store::StoreError> error) {
            on_field_([this, id, error = std::move(error)] { record_ended(id, error); });
          })} {}

Field::~Field() = default;

void Field::start(std::function<void()> published, std::function<void()> turned, Reload reload) {
  published_ = std::move(published);
  turned_ = std::move(turned);
  reload_ = std::move(reload);
  log_anchor("at the start");
  if (!journal_found_.empty())
    on(rack::JournalFound{journal_found_});
  else
    store_->check_chain([this](std::string trouble) {
      on_field_([this, trouble = std::move(trouble)] {
        if (trouble.empty())
          spdlog::info("journal: its chain is whole");
        else
          spdlog::error("journal: {}", trouble);
        on(rack::JournalFound{trouble});
      });
    });
  for (auto& [name, line] : lines_)
    line->start(
        [this, line_name = name](const drivers::Notice& notice) { heard(line_name, notice); });
}

void Field::replace(NamedLine fresh) {
  const auto place = std::ranges::find(lines_, fresh.name, &NamedLine::name);
  if (place == lines_.end()) return;
  place->line->stop();
  // It tells the ends of its commands from the event loop, and has to live until then.
  on_field_([old = std::shared_ptr<drivers::Line>{std::move(place->line)}] {});
  place->line = std::move(fresh.line);
  place->line->start(
      [this, name = place->name](const drivers::Notice& notice) { heard(name, notice); });
}

void Field::stop() {
  stopped_ = true;
  for (auto& [name, line] : lines_) line->stop();
  planner_.reset();
  if (store_) {
    store_->finish();
    log_anchor("at the end");
  }
  store_.reset();
}

// Once when it begins, once when it ends: a full disk is not made fuller.
void Field::record_ended(rack::RecordId id, const std::optional<store::StoreError>& error) {
  if (error) {
    ++records_failed_;
    if (failed_at_once_++ == 0)
      spdlog::error("journal: it cannot be written ({}): no change is made until it can",
                    error->sentence);
    return on(rack::RecordFailed{id, error->sentence});
  }
  if (const auto failed = std::exchange(failed_at_once_, 0); failed != 0)
    spdlog::info("journal: it can be written again; {} records had failed", failed);
  on(rack::Recorded{id});
}

// What was logged, on another machine perhaps, proves later what the journal said now.
void Field::log_anchor(const char* why) {
  anchored_at_ = std::chrono::steady_clock::now();
  const auto head = store_->head();
  spdlog::info("journal: anchor {} ({})", head.row == 0 ? "none yet" : head.text(), why);
}

void Field::look_at_clock() {
  if (const auto by = clock_.look(now(), std::chrono::steady_clock::now())) {
    spdlog::warn("the wall clock was put {} by {} s", by->count() < 0 ? "back" : "forward",
                 std::abs(by->count()) / 1'000'000);
    on(rack::ClockStepped{*by});
  }
  if (std::chrono::steady_clock::now() - anchored_at_ >= longest_without_anchor)
    log_anchor("daily");
  if (const auto due = core_.deadline(); due && *due <= now()) on(rack::TimePassed{});
}

std::chrono::microseconds Field::until_next_look() const {
  const auto due = core_.deadline();
  if (!due) return longest_without_look;
  return std::clamp<std::chrono::microseconds>(*due - now(), std::chrono::microseconds{0},
                                               longest_without_look);
}

void Field::on(const rack::Event& event) {
  if (stopped_) return;
  auto effects = core_.on(event, now());
  for (auto& effect : effects) carry_out(effect);
  // Last, so that an answer does not wait behind the feed of the panels.
  if (std::exchange(is_published_, false) && published_) published_();
  if (turned_) turned_();
}

void Field::heard(const plan::LineName& name, const drivers::Notice& notice) {
  std::visit(Overloaded{
                 [&](const drivers::CommandAnswered& what) {
                   on(rack::CommandAnswered{what.id, what.reply});
                 },
                 [&](const drivers::CommandFailed& what) {
                   on(rack::CommandFailed{what.id, what.fault});
                 },
                 [&](const drivers::NodeRead& what) {
                   on(rack::NodeReported{what.node, what.reading});
                 },
                 [&](const drivers::NodeIdentified& what) {
                   on(rack::NodeIdentified{what.node, what.identity});
                 },
                 [&](const drivers::NodeSilent& what) {
                   spdlog::warn("{}: node {} does not answer", name.text, what.node.text());
                   on(rack::NodeFellSilent{what.node});
                 },
                 [&](const drivers::OtherSpeaks& what) {
                   if (others_on_.insert(name.text).second)
                     spdlog::warn("{}: another controller speaks there", name.text);
                   std::optional<std::chrono::milliseconds> ago;
                   if (what.ago_ms) ago = std::chrono::milliseconds{*what.ago_ms};
                   on(rack::OtherSpeaks{name, what.node, what.epoch, ago, what.under});
                 },
                 [&](const drivers::NodeFree& what) { on(rack::NodeFree{what.node}); },
                 [&](const drivers::LineAsked&) { on(rack::LineAsked{name}); },
                 [&](const drivers::NodeBabbles& what) {
                   on(rack::NodeBabbles{what.node, what.babbles});
                 },
                 [&](const drivers::LineUp&) {
                   spdlog::info("{}: up", name.text);
                   on(rack::LineWentUp{name});
                 },
                 [&](const drivers::LineDown& what) {
                   spdlog::warn("{}: down: {}", name.text, what.reason);
                   on(rack::LineWentDown{name, what.reason});
                 },
                 [&](const drivers::NodeDiscovered& what) { on(found_on(name, what)); },
                 [&](const drivers::DiscoveryEnded& what) {
                   on(rack::DiscoveryEnded{name, what.trouble});
                 },
             },
             notice);
}

void Field::carry_out(rack::Effect& effect) {
  std::visit(Overloaded{
                 [&](rack::Respond& what) { answer(what); },
                 [&](rack::Send& what) {
                   if (auto* line = find(what.line))
                     line->submit({what.command, what.node, std::move(what.request)});
                 },
                 [&](const rack::Search& what) {
                   if (auto* line = find(what.line)) line->discover();
                 },
                 [&](rack::Record& what) { store_->keep(std::move(what)); },
                 [&](const rack::SpeakAs& what) {
                   spdlog::info("the nodes are ours: epoch {}{}", what.epoch.value,
                                what.takes_over ? ", taken over" : "");
                   others_on_.clear();
                   for (auto& [name, line] : lines_) line->speak_as(what.epoch, what.takes_over);
                 },
                 [&](const rack::FallQuiet&) {
                   spdlog::warn("another controller has taken over: this daemon only watches");
                   for (auto& [name, line] : lines_) line->fall_quiet();
                 },
                 [&](const rack::Publish& what) {
                   {
                     const std::lock_guard lock{mutex_};
                     snapshot_ = what.snapshot;
                   }
                   if (what.snapshot->at - counted_at_ >= std::chrono::milliseconds{500}) {
                     counted_at_ = what.snapshot->at;
                     count_lines();
                   }
                   is_published_ = true;
                 },
                 [&](rack::PlanWay& what) { plan(std::move(what)); },
             },
             effect);
}

void Field::answer(rack::Respond& what) {
  const auto found = waiting_.find(what.request);
  if (found == waiting_.end()) return;
  const bool more = what.answer.outcome == rack::Outcome::accepted;
  if (found->second.here) {
    const auto answered = found->second.answered;
    if (!more) waiting_.erase(found);
    return answered(what.answer);
  }
  if (more && found->second.until == Until::fate) return;
  auto answered = std::move(found->second.answered);
  waiting_.erase(found);
  on_panel_(
      [answered = std::move(answered), answer = std::move(what.answer)] { answered(answer); });
}

void Field::plan(rack::PlanWay what) {
  const auto shared = std::make_shared<const rack::PlanWay>(std::move(what));
  // Somebody waits for it: it is answered, come what may.
  const auto offered = planner_->offer([this, shared] {
    auto answer = std::make_shared<rack::WayPlanned>(rack::WayPlanned{shared->id, {}});
    try {
      answer->way = rack::plan_way(shared->question);
    } catch (const std::exception& error) {
      spdlog::error("a way could not be planned: {}", error.what());
    }
    on_field_([this, answer] { on(*answer); });
  });
  if (offered) return;
  spdlog::error("a way could not be planned: too many are waiting");
  on_field_([this, shared] { on(rack::WayPlanned{shared->id, {}}); });
}

drivers::Line* Field::find(const plan::LineName& name) {
  const auto found = std::ranges::find(lines_, name, &NamedLine::name);
  return found == lines_.end() ? nullptr : found->line.get();
}

void Field::count_lines() {
  std::vector<web::LineFigures> figures;
  for (const auto& [name, line] : lines_) {
    const auto c = line->counters();
    figures.push_back({name.text,
                       {{"frames_sent", c.frames_sent},
                        {"frames_received", c.frames_received},
                        {"bytes_sent", c.bytes_sent},
                        {"bytes_received", c.bytes_received},
                        {"retries", c.retries},
                        {"time_outs", c.time_outs},
                        {"malformed", c.malformed},
                        {"forged", c.forged},
                        {"replayed", c.replayed},
                        {"unexpected", c.unexpected},
                        {"thinned", c.thinned}}});
  }
  const std::lock_guard lock{mutex_};
  figures_ = std::move(figures);
}

rack::SnapshotPtr Field::snapshot() const {
  const std::lock_guard lock{mutex_};
  return snapshot_;
}

void Field::put(rack::Event request, Waiting waiting) {
  const auto id = ++last_request_;
  std::visit(
      [id](auto& event) {
        if constexpr (requires { event.request; }) event.request = id;
      },
      request);
  waiting_.emplace(id, std::move(waiting));
  on(request);
}

void Field::ask(rack::Event request, Answered answered, Until until) {
  on_field_([this, request = std::move(request), answered = std::move(answered), until]() mutable {
    if (aborted_ && std::holds_alternative<rack::AbortRequested>(request)) aborted_();
    put(std::move(request), {std::move(answered), until, false});
  });
}

void Field::ask_here(rack::Event request, Answered answered) {
  put(std::move(request), {std::move(answered), Until::fate, true});
}

void Field::show_control_counted(const control::Counters& counters) {
  const std::lock_guard lock{mutex_};
  show_control_ = counters;
}

web::Totals Field::show_control_figures() const {
  const std::lock_guard lock{mutex_};
  return show_control_ ? show_control_->figures() : web::Totals{};
}

// By way of the field thread, so that whoever was answered finds what was recorded by then.
void Field::read_journal(rack::JournalQuery query, Render render, Page page) {
  on_field_([this, query = std::move(query), render = std::move(render),
             page = std::move(page)]() mutable {
    if (!store_) return;
    store_->read(
        std::move(query), [this, render = std::move(render), page = std::move(page)](auto read) {
          if (!read) {
            if (read.error() == rack::Unread::too_many_wait) ++readings_refused_;
            return on_panel_([page, why = read.error()] { page(Failure{why}); });
          }
          JournalText found{std::move(read).value(), {}};
          if (render) {
            found.text = render(found.page.rows);
            for (auto& row : found.page.rows) row.entry = {};
          }
          on_panel_([page, found = std::move(found)]() mutable { page(std::move(found)); });
        });
  });
}

web::JournalFigures Field::journal_figures() const {
  return {store_ ? store_->head() : rack::JournalHead{}, records_failed_, readings_refused_};
}

rack::JournalHead Field::anchor_journal() {
  const auto head = journal_figures().head;
  // Once for each head: whoever asks for reports all the time does not fill the log.
  if (anchored_row_.exchange(head.row) != head.row)
    spdlog::info("journal: anchor {} (with a report)", head.text());
  return head;
}

std::vector<web::LineFigures> Field::line_figures() const {
  const std::lock_guard lock{mutex_};
  return figures_;
}

void Field::turned_away(rack::TurnedAway what) {
  on_field_([this, what = std::move(what)] {
    spdlog::warn("turned away {} times: {} from {}: {}", what.times,
                 what.who.empty() ? "somebody" : what.who, what.from, what.why);
    on(what);
  });
}

void Field::reload(std::string who, Reloaded reloaded) {
  on_field_([this, who = std::move(who), reloaded = std::move(reloaded)]() mutable {
    on_panel_([reloaded = std::move(reloaded), not_taken = reload_(who)] { reloaded(not_taken); });
  });
}

}  // namespace catwalk::shell
