// SPDX-License-Identifier: Apache-2.0
// The daemon of the World: its shell, told in virtual time. See
// daemon/shell/field.cpp.
#include <utility>

#include "daemon/base/overloaded.hpp"
#include "daemon/shell/found_on_line.hpp"
#include "tests/simulation/words.hpp"
#include "tests/simulation/world.hpp"

namespace catwalk::simulation {
namespace {

// A show whose rules have nothing to refuse but what the datasheets cannot do.
std::shared_ptr<const plan::RackPlan> blinded(const plan::RackPlan& plan) {
  auto blind = plan;
  blind.gain_limits.reset();
  for (auto& node : blind.nodes) node.gain_limits.reset();
  for (auto& segment : blind.segments) segment.carriers.clear();
  return std::make_shared<const plan::RackPlan>(std::move(blind));
}

}  // namespace

void World::start_daemon() {
  starts_at_.reset();
  const bool broken = std::exchange(crash_.broken, false);
  if (broken) {
    ++end_.tally.set_aside;
    store_.set_aside();
    promises_.journal_lost();
  }
  const auto restored = store_.restore(clock_.wall());
  complain(promises_.restored(restored));
  end_.tally.interrupted += restored.unfinished.size();
  end_.tally.switches_begun_again += restored.switching && !restored.switching->stuck;
  say([&] {
    return "the daemon starts under epoch " + std::to_string(restored.epoch.value) + " with " +
           std::to_string(restored.unfinished.size()) + " unfinished";
  });
  const auto epoch = restored.epoch;
  watched_before_ = std::ranges::any_of(restored.alarms, [](const rack::Alarm& alarm) {
    return alarm.kind == rack::AlarmKind::other_controller && alarm.subject.empty() &&
           alarm.active();
  });
  in_force_ = files_;
  rack::AskFirst ask;
  for (const auto& line : show_.lines) ask.lines.push_back(line.name);
  core_.emplace(mutation_ == Mutation::blind_rules ? blinded(*files_) : files_, restored,
                clock_.wall(), std::move(ask));
  looked_at_.reset();
  check_snapshot();
  on(rack::JournalFound{broken ? "The journal could not be used." : ""});
  if (!core_) return;
  for (const auto& line : lines_) {
    line->ask_first();
    line->open(epoch,
               mutation_ == Mutation::forgotten_epochs ? protocol::OurEpochs{} : restored.spoken,
               clock_.now());
    hear(*line);
  }
  calm_.disturb_all(show_, clock_.now());
}

std::optional<Moment> World::core_due() const {
  if (!core_) return std::nullopt;
  const auto due = core_->deadline();
  if (!due) return std::nullopt;
  // No further ahead than a clock can count.
  const auto ahead = std::min<Micros>(*due - clock_.wall(), std::chrono::hours{24 * 365});
  return clock_.now() + std::max(ahead, Micros{0});
}

// As kill -9 does it: whatever was not on the disk or on a wire is gone.
void World::kill_daemon() {
  ++end_.tally.crashes;
  say([&] { return std::string{"the daemon is killed"}; });
  effects_left_.reset();
  store_.crash(static_cast<std::size_t>(crash_.records));
  const auto& spoken = store_.kept().state.spoken.all();
  if (core_ && core_->snapshot()->control == rack::Control::ours &&
      std::ranges::find(spoken, core_->snapshot()->epoch) == spoken.end())
    spoke_unkept_ = clock_.now();
  core_.reset();
  inbox_.clear();
  plannings_.clear();
  notices_clock_at_.reset();
  clock_put_by_ = Micros{0};
  asks_.daemon_gone();
  orders_.daemon_gone();
  switches_.daemon_gone();
  passage_.over();
  for (const auto& line : lines_) line->abandon();
  looked_at_.reset();
  debts_ = {};
  starts_at_ = clock_.now() + crash_.down;
}

void World::on(const rack::Event& event) {
  const auto seen = falsified(event);
  if (!seen) return;
  ++end_.tally.events;
  say([&] { return words(*seen); });
  std::visit(Overloaded{
                 [&](const rack::CommandAnswered& one) { complain(orders_.ended(one.command)); },
                 [&](const rack::CommandFailed& one) { complain(orders_.ended(one.command)); },
                 [&](const rack::Recorded& one) {
                   debts_.kept(one.record);
                   promises_.record_ended(one.record, true, store_.kept());
                 },
                 [&](const rack::RecordFailed& one) {
                   debts_.failed(one.record);
                   promises_.record_ended(one.record, false, store_.kept());
                 },
                 [&](const rack::PlanReplaced& one) { in_force_ = one.plan; },
                 [](const auto&) {},
             },
             *seen);
  for (const auto& effect : core_->on(*seen, clock_.wall())) {
    if (effects_left_ && (*effects_left_)-- <= 0) {
      ++end_.tally.crashes_in_a_turn;
      return kill_daemon();
    }
    say([&] { return "  " + words(effect); });
    carry_out(effect);
    if (end_.violation) return;
  }
  check_snapshot();
  if (inbox_.empty()) check_idle();
}

void World::carry_out(const rack::Effect& effect) {
  std::visit(Overloaded{
                 [&](const rack::Respond& what) { check_respond(what); },
                 [&](const rack::Send& what) {
                   complain(orders_.sent(what, *in_force_, *core_->snapshot(), store_.kept(),
                                         clock_.now()));
                   check_switch_sends(what);
                   auto* line = line_of(what.line);
                   if (line == nullptr)
                     return complain(Violation{"a command goes to a line that there is",
                                               "there is no line " + what.line.text});
                   calm_.disturb(what.line, clock_.now());
                   line->submit({what.command, what.node, what.request}, clock_.now());
                   hear(*line);
                 },
                 [&](const rack::Search& what) {
                   auto* line = line_of(what.line);
                   line->discover(clock_.now());
                   hear(*line);
                 },
                 [&](const rack::Record& what) {
                   complain(Orders::signed_for(what));
                   promises_.record_asked(what);
                   debts_.asked(what.id);
                   store_.keep(what, clock_.now());
                 },
                 [&](const rack::SpeakAs& what) {
                   if (what.takes_over) promises_.taken_over(*looked_at_, store_.kept());
                   for (const auto& line : lines_) {
                     line->speak_as(what.epoch, what.takes_over, clock_.now());
                     hear(*line);
                   }
                   calm_.disturb_all(show_, clock_.now());
                 },
                 [&](const rack::FallQuiet&) {
                   for (const auto& line : lines_) {
                     line->fall_quiet(clock_.now());
                     hear(*line);
                   }
                 },
                 [](const rack::Publish&) {},
                 [&](const rack::PlanWay& what) { plan_way(what); },
             },
             effect);
}

// A planner that knows no order moves everything at once.
rack::Way World::way_for(const rack::WayQuestion& question) const {
  auto way = rack::plan_way(question);
  if (mutation_ != Mutation::planner_without_order || way.steps.size() < 2) return way;
  rack::Step all;
  for (const auto& node : question.nodes)
    if (node.target && node.present != node.target)
      all.moves.push_back({node.node, rack::MovePart::whole, node.present, *node.target});
  way.steps = {std::move(all)};
  return way;
}

// From one to some hundred thousandths of a second each, one after the other.
void World::plan_way(const rack::PlanWay& what) {
  const auto begin = plannings_.empty() ? clock_.now() : plannings_.back().done_at;
  plannings_.push_back({begin + Micros{1'000} + luck_now(120'000), what});
}

Micros World::luck_now(std::uint64_t below) const {
  const auto now = static_cast<std::uint64_t>(clock_.now().time_since_epoch().count());
  return Micros{static_cast<std::int64_t>(luck_of(show_.seed, now) % below)};
}

void World::hear(VirtualLine& line) {
  const auto& name = line.setup().name;
  for (auto& notice : line.take_notices())
    std::visit(
        Overloaded{
            [&](const drivers::CommandAnswered& what) {
              inbox_.emplace_back(rack::CommandAnswered{what.id, what.reply});
            },
            [&](const drivers::CommandFailed& what) {
              inbox_.emplace_back(rack::CommandFailed{what.id, what.fault});
            },
            [&](const drivers::NodeRead& what) {
              inbox_.emplace_back(rack::NodeReported{what.node, what.reading});
            },
            [&](const drivers::NodeIdentified& what) {
              inbox_.emplace_back(rack::NodeIdentified{what.node, what.identity});
            },
            [&](const drivers::NodeSilent& what) {
              inbox_.emplace_back(rack::NodeFellSilent{what.node});
            },
            [&](const drivers::OtherSpeaks& what) {
              std::optional<std::chrono::milliseconds> ago;
              if (what.ago_ms) ago = std::chrono::milliseconds{*what.ago_ms};
              inbox_.emplace_back(rack::OtherSpeaks{name, what.node, what.epoch, ago, what.under});
            },
            [&](const drivers::NodeFree& what) { inbox_.emplace_back(rack::NodeFree{what.node}); },
            [&](const drivers::LineAsked&) { inbox_.emplace_back(rack::LineAsked{name}); },
            [&](const drivers::NodeBabbles& what) {
              inbox_.emplace_back(rack::NodeBabbles{what.node, what.babbles});
            },
            [&](const drivers::LineUp&) { inbox_.emplace_back(rack::LineWentUp{name}); },
            [&](const drivers::LineDown& what) {
              inbox_.emplace_back(rack::LineWentDown{name, what.reason});
            },
            [&](const drivers::NodeDiscovered& what) {
              inbox_.emplace_back(shell::found_on(name, what));
            },
            [&](const drivers::DiscoveryEnded& what) {
              inbox_.emplace_back(rack::DiscoveryEnded{name, what.trouble});
            },
        },
        notice);
}

VirtualLine* World::line_of(const plan::LineName& name) {
  for (const auto& line : lines_)
    if (line->setup().name == name) return line.get();
  return nullptr;
}

}  // namespace catwalk::simulation
