// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/world.hpp"

#include <algorithm>

namespace catwalk::simulation {
namespace {

constexpr auto look_for_calm_every = std::chrono::seconds{7};
constexpr int most_things_at_once = 10'000;

std::vector<std::unique_ptr<VirtualLine>> make_lines(const Show& show, Moment now) {
  std::vector<std::unique_ptr<VirtualLine>> lines;
  for (const auto& setup : show.lines) lines.push_back(make_line(show, setup, now));
  return lines;
}

}  // namespace

World::World(const Script& script, Mutation mutation, Trace* trace)
    : show_{show_of(script)},
      script_{script},
      mutation_{mutation},
      mutant_{script.show, "mutant"},
      trace_{trace},
      lines_{make_lines(show_, clock_.now())},
      truth_{show_, lines_, clock_.now()},
      store_{script.show, mutation},
      files_{show_.plan},
      next_calm_look_{clock_.now() + look_for_calm_every} {
  start_daemon();
}

RunEnd World::run() {
  run_until(VirtualClock::start + script_.length);
  if (!end_.violation) put_right();
  // The daemon may have been down, and others may obey a rival: again, and then
  // nothing is left.
  run_until(clock_.now() + std::chrono::seconds{5});
  if (!end_.violation) perform(AskTakeOver{});
  Micros quiet{0};
  for (const auto& line : show_.lines) quiet = std::max(quiet, Calm::after(line));
  run_until(clock_.now() + quiet + std::chrono::seconds{10});
  if (!end_.violation) check_end();
  end_.tally.watched_ways = passage_.watched();
  end_.at = clock_.since_start();
  return end_;
}

void World::run_until(Moment end) {
  while (!end_.violation && step(end)) {
  }
  if (!end_.violation) clock_.go_to(end);
}

bool World::step(Moment end) {
  if (core_ && !inbox_.empty()) {
    const auto event = std::move(inbox_.front());
    inbox_.pop_front();
    on(event);
    return true;
  }
  enum class Due { nothing, script, start, disk, planner, clock, tick, line };
  auto due = Due::nothing;
  auto first = end;
  const auto consider = [&](std::optional<Moment> at, Due what) {
    if (!at) return false;
    // What should have been before is now.
    const auto moment = std::max(*at, clock_.now());
    if (moment > first || (due != Due::nothing && moment == first)) return false;
    first = moment;
    due = what;
    return true;
  };
  if (next_action_ < script_.actions.size())
    consider(VirtualClock::start + script_.actions[next_action_].at, Due::script);
  consider(starts_at_, Due::start);
  consider(store_.next_event(), Due::disk);
  if (!plannings_.empty()) consider(plannings_.front().done_at, Due::planner);
  consider(notices_clock_at_, Due::clock);
  consider(core_due(), Due::tick);
  VirtualLine* line = nullptr;
  for (const auto& one : lines_)
    if (consider(one->next_event(), Due::line)) line = one.get();
  if (due == Due::nothing) return false;
  if (first != clock_.now()) things_now_ = 0;
  if (++things_now_ > most_things_at_once)
    complain(Violation{"time goes on", line == nullptr ? "something is due again and again"
                                                       : line->setup().name.text +
                                                             " is due again and again, and does "
                                                             "nothing"});
  clock_.go_to(first);
  switch (due) {
    case Due::script:
      perform(script_.actions[next_action_++].action);
      break;
    case Due::start:
      start_daemon();
      break;
    case Due::disk:
      for (const auto& [id, kept] : store_.step(first)) {
        if (kept)
          inbox_.emplace_back(rack::Recorded{id});
        else
          inbox_.emplace_back(rack::RecordFailed{id, "the disk is full"});
      }
      break;
    case Due::planner: {
      auto way = way_for(plannings_.front().what.question);
      complain(Switches::planned(plannings_.front().what.question, way));
      ++end_.tally.ways;
      end_.tally.long_ways += way.steps.size() > 1;
      way = deceived(std::move(way));
      passage_.planned(plannings_.front().what.question, way);
      inbox_.emplace_back(rack::WayPlanned{plannings_.front().what.id, std::move(way)});
    }
      plannings_.pop_front();
      break;
    case Due::clock:
      notices_clock_at_.reset();
      inbox_.emplace_back(rack::ClockStepped{std::exchange(clock_put_by_, Micros{0})});
      break;
    case Due::tick:
      on(rack::TimePassed{});
      break;
    case Due::line:
      line->step(first);
      check_nodes_after_wires();
      hear(*line);
      break;
    case Due::nothing:
      break;
  }
  if (clock_.now() >= next_calm_look_) {
    next_calm_look_ = clock_.now() + look_for_calm_every;
    be_moody();
    complain(orders_.none_is_forgotten(clock_.now()));
    if (core_) {
      complain(calm_.knows_its_nodes(*core_->snapshot(), truth_, clock_.now(), clock_.wall()));
      complain(calm_.knows_what_it_feeds(*core_->snapshot(), truth_, clock_.now()));
      check_idle();
    }
  }
  return true;
}

}  // namespace catwalk::simulation
